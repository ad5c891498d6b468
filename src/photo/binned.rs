//! A photo finer than is needed, made coarser: blocks of pixels averaged to one.

use image::RgbImage;
use rayon::prelude::*;

use super::{Blocks, Divider, Photo};

impl Photo {
    /// The photo with `factor` × `factor` pixels averaged to one; what is left over at the right and
    /// the bottom is cut off. Pixel `i` has its centre at `factor · i + (factor − 1)/2` of the photo.
    ///
    /// Averaging blocks loses nothing that lies within them and is no interpolation: noise falls by
    /// the factor, and the band is still sampled once.
    #[must_use]
    pub fn binned(&self, factor: u32) -> Self {
        let factor = factor.max(1);
        Self {
            file: self.file.clone(),
            sha256: self.sha256.clone(),
            pixels: averaged(&self.pixels, factor),
            densities: self.densities.clone(),
            camera: self.camera.clone(),
            jpeg_rounding: self.jpeg_rounding / f64::from(factor),
        }
    }
}

fn averaged(photo: &RgbImage, factor: u32) -> RgbImage {
    let blocks = Blocks::new(photo, factor);
    let (width, height) = blocks.size;
    let mut small = RgbImage::new(width, height);
    if width == 0 || height == 0 {
        return small;
    }
    let count = factor * factor;
    let divider = Divider::new(count);
    let rows = small.par_chunks_exact_mut(3 * width as usize).enumerate();
    rows.for_each(|(y, row)| {
        let (row, _) = row.as_chunks_mut::<3>();
        blocks.row(y, |x, sums| {
            let mean = |c: usize| divider.byte(sums[c] + count / 2);
            row[x] = [mean(0), mean(1), mean(2)];
        });
    });
    small
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::Rgb;

    #[test]
    fn blocks_are_averaged_and_rounded_and_leftovers_cut() {
        let photo = Photo {
            file: "band.png".to_owned(),
            sha256: String::new(),
            pixels: RgbImage::from_fn(5, 4, |x, y| {
                let value = |v: u32| u8::try_from(v).unwrap_or(0);
                Rgb([value(10 * x), value(10 * y), value(x + y)])
            }),
            densities: Vec::new(),
            camera: None,
            jpeg_rounding: 0.0,
        };
        let small = photo.binned(2).pixels;
        assert_eq!(small.dimensions(), (2, 2));
        assert_eq!(small.get_pixel(1, 0).0, [25, 5, 3]);
    }
}
