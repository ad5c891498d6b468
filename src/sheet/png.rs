//! The sheet as PNG, exactly the page.

use std::io::{self, Write};

use super::drawing::{Shape, shapes};
use super::layout::{Layout, Rect};
use super::lettering;
use crate::geometry::Point;
use crate::units::MM_PER_INCH;
use crate::{Error, Result};

/// The resolutions that a PNG of the sheet may have, pixels per inch: below, a marker's cells
/// blur into each other; above, no printer gains.
pub const DPI_RANGE: std::ops::RangeInclusive<u32> = 50..=1200;

/// Checks a resolution before a file is begun.
///
/// # Errors
///
/// [`Error::Request`] outside [`DPI_RANGE`].
pub fn check_dpi(dpi: u32) -> Result<()> {
    if DPI_RANGE.contains(&dpi) {
        return Ok(());
    }
    Err(Error::Request {
        what: "--dpi".to_owned(),
        why: format!(
            "{dpi} is no resolution for the sheet: {} to {} is what can be",
            DPI_RANGE.start(),
            DPI_RANGE.end()
        ),
    })
}

/// Writes the sheet as a grey PNG that shows exactly the page: the outer edges of the first and
/// the last pixels are the page's edges.
///
/// # Errors
///
/// What the writer says; [`io::ErrorKind::InvalidInput`] for a resolution outside [`DPI_RANGE`].
pub fn write_png(layout: &Layout, dpi: u32, out: &mut impl Write) -> io::Result<()> {
    check_dpi(dpi).map_err(|error| io::Error::new(io::ErrorKind::InvalidInput, error))?;
    let page = Page::drawn(layout, dpi);
    let mut encoder = png::Encoder::new(out, page.width, page.height);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_depth(png::BitDepth::Eight);
    let per_metre = whole(f64::from(dpi) * 1000.0 / MM_PER_INCH);
    encoder.set_pixel_dims(Some(png::PixelDimensions {
        xppu: per_metre,
        yppu: per_metre,
        unit: png::Unit::Meter,
    }));
    let mut writer = encoder.write_header().map_err(io::Error::other)?;
    let grey: Vec<u8> = page.ink.iter().map(|ink| u8::MAX - ink).collect();
    writer.write_image_data(&grey).map_err(io::Error::other)?;
    writer.finish().map_err(io::Error::other)
}

/// The page as ink, 0 paper … 255 black; every pixel holds the share of its area that is inked.
struct Page {
    width: u32,
    height: u32,
    x_scale: f64,
    y_scale: f64,
    ink: Vec<u8>,
}

impl Page {
    fn drawn(layout: &Layout, dpi: u32) -> Self {
        let (width_mm, height_mm) = layout.paper.size_mm();
        let scale = f64::from(dpi) / MM_PER_INCH;
        let (width, height) = (whole(width_mm * scale), whole(height_mm * scale));
        let mut page = Self {
            width,
            height,
            x_scale: f64::from(width) / width_mm,
            y_scale: f64::from(height) / height_mm,
            ink: vec![0; width as usize * height as usize],
        };
        for shape in shapes(layout) {
            match shape {
                Shape::Rects { rects, tone } => rects.iter().for_each(|r| page.rect(r, tone)),
                Shape::Polygon(points) => page.polygon(&points),
                Shape::Words(line) => {
                    let at = (line.x * page.x_scale, line.baseline * page.y_scale);
                    let size_px = line.size * page.y_scale;
                    lettering::draw(&line.words, at, size_px, line.weight, |x, y, share| {
                        if let (Ok(x), Ok(y)) = (u32::try_from(x), u32::try_from(y)) {
                            page.add(x, y, share);
                        }
                    });
                }
            }
        }
        page
    }

    /// Adds ink; what lies side by side in one pixel sums up.
    fn add(&mut self, x: u32, y: u32, share: f64) {
        if x < self.width && y < self.height {
            let cell = &mut self.ink[y as usize * self.width as usize + x as usize];
            *cell = cell.saturating_add(byte(255.0 * share));
        }
    }

    fn rect(&mut self, rect: &Rect, tone: f64) {
        let across = overlaps(rect.x * self.x_scale, (rect.x + rect.width) * self.x_scale);
        let down = overlaps(rect.y * self.y_scale, (rect.y + rect.height) * self.y_scale);
        for &(y, share_y) in &down {
            for &(x, share_x) in &across {
                self.add(x, y, tone * share_x * share_y);
            }
        }
    }

    /// Fills a polygon from 16 lines a pixel, each cut exactly.
    fn polygon(&mut self, points: &[Point]) {
        const LINES: u32 = 16;
        let corners: Vec<Point> = points
            .iter()
            .map(|p| Point::new(p.x * self.x_scale, p.y * self.y_scale))
            .collect();
        let tops = corners.iter().map(|p| p.y);
        let first = whole(tops.clone().fold(f64::INFINITY, f64::min).floor());
        let last = whole(tops.fold(0.0, f64::max).ceil());
        for y in first..last {
            let mut shares = vec![0.0; self.width as usize];
            for line in 0..LINES {
                let level = f64::from(y) + (f64::from(line) + 0.5) / f64::from(LINES);
                for pair in crossings(&corners, level).chunks_exact(2) {
                    for (x, share) in overlaps(pair[0], pair[1]) {
                        if let Some(sum) = shares.get_mut(x as usize) {
                            *sum += share / f64::from(LINES);
                        }
                    }
                }
            }
            for (x, &share) in (0..self.width).zip(&shares) {
                if share > 0.0 {
                    self.add(x, y, share);
                }
            }
        }
    }
}

/// Where a level line crosses a polygon, in order.
fn crossings(corners: &[Point], level: f64) -> Vec<f64> {
    let mut found: Vec<f64> = corners
        .iter()
        .zip(corners.iter().cycle().skip(1))
        .filter(|(a, b)| (a.y <= level) != (b.y <= level))
        .map(|(a, b)| a.x + (level - a.y) / (b.y - a.y) * (b.x - a.x))
        .collect();
    found.sort_by(f64::total_cmp);
    found
}

/// The pixels that a stretch covers, px from the edge, and which share of each.
fn overlaps(from: f64, to: f64) -> Vec<(u32, f64)> {
    (whole(from.floor())..whole(to.ceil()))
        .map(|pixel| {
            let left = f64::from(pixel);
            (pixel, to.min(left + 1.0) - from.max(left))
        })
        .collect()
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a page's pixels: above zero and far below the range; the cast saturates"
)]
fn whole(value: f64) -> u32 {
    value.round() as u32
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "0 to 255; the cast saturates"
)]
fn byte(value: f64) -> u8 {
    value.round() as u8
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ink_is_the_share_of_area() {
        let mut page = Page {
            width: 4,
            height: 3,
            x_scale: 1.0,
            y_scale: 1.0,
            ink: vec![0; 12],
        };
        page.rect(&Rect::new(0.5, 1.0, 2.0, 1.5), 1.0);
        assert_eq!(page.ink[4..8], [128, 255, 128, 0]);
        assert_eq!(page.ink[8..12], [64, 128, 64, 0]);
        page.ink.fill(0);
        let corners = [(0.0, 0.0), (4.0, 0.0), (0.0, 2.0)];
        page.polygon(&corners.map(|(x, y)| Point::new(x, y)));
        let area: f64 = page.ink.iter().map(|&ink| f64::from(ink) / 255.0).sum();
        assert!((area - 4.0).abs() < 0.02, "{area}");
    }
}
