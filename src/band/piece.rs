//! Which cells are the band?
//!
//! # Method
//! 1. Otsu's threshold on the logarithm of unlikeness to the ground.
//! 2. Close gaps of [`CLOSE_MM`] (furrows between yarns), open at [`OPEN_MM`] (fringe, hairs, thin
//!    printed lines go).
//! 3. The piece that looks most like a band: large, long, of the width that the plan expects; or, where that turned out to be
//!    none, the next that is large enough ([`LEAST_MM2`], [`LEAST_SHARE`]).
//!
//! The piece comes out a little wide and takes in dense fringe: a start, not an edge.

use image::{GrayImage, Luma, imageops};
use imageproc::region_labelling::{Connectivity, connected_components};

use super::cells::Cells;
use super::disc;

/// Radius of closing, mm.
const CLOSE_MM: f64 = 1.0;
/// Radius of opening, mm.
const OPEN_MM: f64 = 2.0;
/// Lowest threshold on squared Mahalanobis distance: below it all is ground.
const LEAST_UNLIKE: f32 = 9.0;

/// Smallest piece that is looked at in another's stead, mm² and as a share of that other.
const LEAST_MM2: f64 = 250.0;
const LEAST_SHARE: f64 = 0.04;

/// The chosen piece.
#[derive(Debug)]
pub(super) struct Piece {
    /// One flag a cell.
    pub mask: Vec<bool>,
    /// Area, mm².
    pub area_mm2: f64,
    /// Area of the likeliest other piece that could be a band too, mm².
    pub next_mm2: f64,
}

/// Finds the band's piece; `None` where nothing stands out from the ground, or no `rank`-th piece of that size (from 0).
pub(super) fn band_piece(
    cells: &Cells,
    unlike: &[f32],
    loom_mm: Option<f64>,
    rank: usize,
) -> Option<Piece> {
    let threshold = otsu(unlike).max(LEAST_UNLIKE);
    let (w, h) = (cells.width as u32, cells.height as u32);
    let mut mask = GrayImage::new(w, h);
    for (pixel, &u) in mask.pixels_mut().zip(unlike) {
        pixel.0[0] = if u > threshold { 255 } else { 0 };
    }
    let radius = |mm: f64| (mm / cells.size_mm).round().clamp(1.0, 255.0) as u8;
    let (part, from) = closed_and_opened(&mask, radius(CLOSE_MM), radius(OPEN_MM))?;
    let labels = connected_components(&part, Connectivity::Eight, Luma([0]));
    let mut sums: Vec<Moments> = Vec::new();
    for (x, y, label) in labels.enumerate_pixels() {
        let k = label.0[0] as usize;
        if k > 0 {
            if sums.len() < k {
                sums.resize_with(k, Moments::default);
            }
            sums[k - 1].add(f64::from(x), f64::from(y));
        }
    }
    let score = |m: &Moments| m.score(cells.size_mm, loom_mm);
    let mut order: Vec<usize> = (0..sums.len()).collect();
    order.sort_by(|&a, &b| score(&sums[b]).total_cmp(&score(&sums[a])));
    let area = |k: usize| sums[k].n * cells.size_mm * cells.size_mm;
    let &chosen = order.get(rank)?;
    let least = (LEAST_SHARE * area(order[0])).max(LEAST_MM2);
    if rank > 0 && area(chosen) < least {
        return None;
    }
    let mut mask = vec![false; cells.width * cells.height];
    for (y, labels) in labels.rows().enumerate() {
        let first = (from.1 as usize + y) * cells.width + from.0 as usize;
        for (inside, label) in mask[first..].iter_mut().zip(labels) {
            *inside = label.0[0] as usize == chosen + 1;
        }
    }
    Some(Piece {
        mask,
        area_mm2: area(chosen),
        next_mm2: order.get(usize::from(rank == 0)).map_or(0.0, |&k| area(k)),
    })
}

/// The part of the mask that holds something, with gaps closed and thin things taken off, and where in the
/// mask it lies; `None` of an empty one.
fn closed_and_opened(
    mask: &GrayImage,
    closing: u8,
    opening: u8,
) -> Option<(GrayImage, (u32, u32))> {
    let (mut low, mut high) = ((u32::MAX, u32::MAX), (0, 0));
    for (y, row) in (0..).zip(mask.as_raw().chunks_exact(mask.width().max(1) as usize)) {
        let held = |value: &u8| *value > 0;
        if let (Some(first), Some(last)) = (row.iter().position(held), row.iter().rposition(held)) {
            low = (low.0.min(first as u32), low.1.min(y));
            high = (high.0.max(last as u32), y);
        }
    }
    if low.0 > high.0 {
        return None;
    }
    // So far beyond what the mask holds nothing changes.
    let beyond = 2 * u32::from(closing) + u32::from(opening) + 2;
    let from = (low.0.saturating_sub(beyond), low.1.saturating_sub(beyond));
    let size = (
        (high.0 + beyond + 1).min(mask.width()) - from.0,
        (high.1 + beyond + 1).min(mask.height()) - from.1,
    );
    let part = imageops::crop_imm(mask, from.0, from.1, size.0, size.1).to_image();
    Some((disc::closed_and_opened(&part, closing, opening), from))
}

/// Sums of a piece's places.
#[derive(Debug, Default)]
struct Moments {
    n: f64,
    x: f64,
    y: f64,
    xx: f64,
    xy: f64,
    yy: f64,
}

impl Moments {
    fn add(&mut self, x: f64, y: f64) {
        self.n += 1.0;
        self.x += x;
        self.y += y;
        self.xx += x * x;
        self.xy += x * y;
        self.yy += y * y;
    }

    /// Area, worth less the less the piece is a long strip of the expected width.
    fn score(&self, cell_mm: f64, loom_mm: Option<f64>) -> f64 {
        let (mx, my) = (self.x / self.n, self.y / self.n);
        let (a, b, c) = (
            self.xx / self.n - mx * mx,
            self.xy / self.n - mx * my,
            self.yy / self.n - my * my,
        );
        let root = ((a - c) * (a - c) / 4.0 + b * b).sqrt();
        let (long, short) = ((a + c) / 2.0 + root, ((a + c) / 2.0 - root).max(0.05));
        let slim = (long / short).sqrt();
        let width_mm = (12.0 * short).sqrt() * cell_mm;
        let fit = loom_mm.map_or(1.0, |loom| {
            let off = (width_mm / loom).ln().abs();
            if off < 0.35 {
                1.0
            } else {
                (-3.0 * (off - 0.35)).exp()
            }
        });
        self.n * fit * (slim / 2.0).min(1.0)
    }
}

/// Otsu's threshold of the logarithm, given back as unlikeness.
fn otsu(unlike: &[f32]) -> f32 {
    const BINS: usize = 256;
    const TOP: f32 = 14.0;
    let mut histogram = [0.0_f64; BINS];
    for &u in unlike {
        let at = (1.0 + u).ln() / TOP * BINS as f32;
        histogram[(at as usize).min(BINS - 1)] += 1.0;
    }
    let total: f64 = histogram.iter().sum();
    let sum: f64 = histogram
        .iter()
        .enumerate()
        .map(|(i, n)| i as f64 * n)
        .sum();
    let (mut n, mut s, mut best, mut at) = (0.0, 0.0, 0.0, 0);
    for (i, count) in histogram.iter().enumerate() {
        n += count;
        s += i as f64 * count;
        if n > 0.0 && n < total {
            let gap = s / n - (sum - s) / (total - n);
            let between = n * (total - n) * gap * gap;
            if between > best {
                (best, at) = (between, i);
            }
        }
    }
    ((at as f32 + 1.0) / BINS as f32 * TOP).exp() - 1.0
}
