//! Masks closed and opened by a disc, row by row.
//!
//! # Method
//! A cell lies within a disc's reach of a set one where, some rows up or down, the nearest set cell of that
//! row lies within the disc's half-width there. So the gaps to the nearest set cell along each row are
//! found once, and every row is held against those around it. Shrinking is growing what isn't set; what
//! lies beyond the picture neither grows into it nor shrinks it.

use image::GrayImage;
use rayon::prelude::*;

/// The mask (0 or more) with gaps narrower than a disc of radius `closing` filled, and then what is
/// narrower than one of radius `opening` taken off; both in cells.
pub(super) fn closed_and_opened(mask: &GrayImage, closing: u8, opening: u8) -> GrayImage {
    let closed = shrunk(&grown(mask, closing), closing);
    grown(&shrunk(&closed, opening), opening)
}

fn shrunk(mask: &GrayImage, radius: u8) -> GrayImage {
    let mut mask = mask.clone();
    invert(&mut mask);
    let mut grown = grown(&mask, radius);
    invert(&mut grown);
    grown
}

fn invert(mask: &mut GrayImage) {
    for cell in mask.iter_mut() {
        *cell = if *cell > 0 { 0 } else { u8::MAX };
    }
}

/// Every cell that lies within `radius` of a set one, by their middles.
fn grown(mask: &GrayImage, radius: u8) -> GrayImage {
    let (width, height) = (mask.width() as usize, mask.height() as usize);
    let mut out = GrayImage::new(mask.width(), mask.height());
    if width == 0 || height == 0 {
        return out;
    }
    let mut gaps = vec![u16::MAX; width * height];
    let lines = gaps.par_chunks_mut(width).zip(mask.par_chunks(width));
    lines.for_each(|(gaps, set)| gaps_along(set, gaps));
    let radius = usize::from(radius);
    let lines = out.par_chunks_mut(width).enumerate();
    lines.for_each(|(y, out)| {
        for other in y.saturating_sub(radius)..(y + radius + 1).min(height) {
            let away = y.abs_diff(other);
            let half = u16::try_from((radius * radius - away * away).isqrt()).unwrap_or(0);
            for (out, gap) in out.iter_mut().zip(&gaps[other * width..]) {
                *out |= if *gap <= half { u8::MAX } else { 0 };
            }
        }
    });
    out
}

/// How far along its row each cell's nearest set one lies.
fn gaps_along(set: &[u8], gaps: &mut [u16]) {
    let mut gap = u16::MAX;
    for (own, set) in gaps.iter_mut().zip(set) {
        gap = if *set > 0 { 0 } else { gap.saturating_add(1) };
        *own = gap;
    }
    gap = u16::MAX;
    for (own, set) in gaps.iter_mut().zip(set).rev() {
        gap = if *set > 0 { 0 } else { gap.saturating_add(1) };
        *own = gap.min(*own);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::Luma;
    use imageproc::distance_transform::Norm;
    use imageproc::morphology::{close, open};

    #[test]
    fn rows_give_what_distances_give() {
        for (seed, share) in [(7, 40), (11, 60), (13, 90), (17, 0), (19, 101)] {
            let mask = GrayImage::from_fn(70, 41, |x, y| {
                let noise = (x * x * seed + 31 * y * y + x * y * 17 + 5 * y) % 101;
                Luma([if noise < share { 255 } else { 0 }])
            });
            for (closing, opening) in [(1, 1), (2, 5), (3, 2), (60, 3)] {
                let wanted = open(&close(&mask, Norm::L2, closing), Norm::L2, opening);
                assert_eq!(closed_and_opened(&mask, closing, opening), wanted);
            }
        }
    }
}
