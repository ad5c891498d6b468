//! What the pick finder saw: the cloth's columns, each pick's middle drawn across.

use image::{Rgb, RgbImage};

use super::cloth::Cloth;
use super::locate::Located;

/// Pixels a sample along the band (shown from left to right) and a column across it.
const ZOOM: (u32, u32) = (2, 6);

/// The high-passed lightness of the columns, start at the left, with the picks' middles.
pub(crate) fn picture(cloth: &Cloth, located: &Located) -> RgbImage {
    let (samples, width) = cloth.samples.dim();
    let columns = width / 3;
    let size = |n: usize, zoom: u32| u32::try_from(n).unwrap_or(u32::MAX / 8) * zoom;
    let middles: Vec<usize> = located
        .picks
        .iter()
        .map(|p| (p.placed.sample * f64::from(ZOOM.0)).round().max(0.0) as usize)
        .collect();
    let mut picture = RgbImage::from_fn(size(samples, ZOOM.0), size(columns, ZOOM.1), |x, y| {
        let (i, j) = ((x / ZOOM.0) as usize, (y / ZOOM.1) as usize);
        let grey = (128.0 + 3.0 * cloth.samples[[i, 3 * j]]).clamp(0.0, 255.0) as u8;
        Rgb([grey, grey, grey])
    });
    let (wide, high) = picture.dimensions();
    for middle in middles {
        if let Some(x) = u32::try_from(middle).ok().filter(|x| *x < wide) {
            for y in (0..high).step_by(2) {
                picture.put_pixel(x, y, Rgb([235, 60, 30]));
            }
        }
    }
    picture
}
