//! The cloth sampled evenly in picks: what the repeat is followed through.
//!
//! # Method
//! 1. Sample the columns at the planned spacing; cut off the headers.
//! 2. Find the local spacing and sample once more, now so that every pick has about the same number
//!    of samples; take out the slow light.
//! 3. Sharpen the border between header and body; samples beyond the ends so seen aren't trusted.

use ndarray::{Array2, Axis, Slice};

use super::beside::Beside;
use super::columns::Columns;
use super::cover::Cover;
use super::header::{body_range, sharpened};
use super::level::{Level, levelled};
use super::options::PickOptions;
use super::pattern::{Lines, Pattern};
use super::pitch::{LocalPitch, SAMPLES_A_PICK, high_pass, interpolate, local_pitch};
use super::planned_header::PlannedHeader;
use crate::band::BandTrace;

/// The border between two colours lies in the furrow, the pick's edge a little inside it: 0.05 of a
/// spacing on 79 ends of drawn bands (median).
const HALF_FURROW: f64 = 0.05;

/// Columns for so many ends: a few an end where the band is narrow.
pub(crate) fn column_count(ends: usize) -> usize {
    match ends {
        0..=20 => ends * 3,
        21..=40 => ends * 2,
        _ => ends.min(96),
    }
}

/// The cloth sampled evenly in picks.
#[derive(Clone)]
pub(crate) struct Cloth {
    /// High-passed Lab, shape (rows along, columns · 3), about [`SAMPLES_A_PICK`] to a pick.
    pub(crate) samples: Array2<f32>,
    /// The same with stripes and shades taken out, and the furrows in one more column.
    pub(crate) level: Level,
    /// The same before the high pass.
    pub(crate) raw: Array2<f32>,
    /// Row of the columns picture at each sample.
    pub(crate) places: Vec<f64>,
    /// Borders of the body, samples.
    pub(crate) body: (usize, usize),
    /// The same, to a fraction of a sample.
    pub(crate) edges: (f64, f64),
    /// Whether a header was seen before and after the body.
    pub(crate) headers: (bool, bool),
    /// Whether the plan has a header; `None` where it doesn't say.
    pub(crate) header_planned: Option<bool>,
    /// Which of warp and weft is seen.
    pub(crate) cover: Cover,
    /// Which samples show the rarer of two wefts, where there are two.
    pub(crate) rarer: Option<Vec<bool>>,
    /// What lies beside the cloth at each sample.
    pub(crate) beside: Beside,
    /// A sample around which the repeat is clear.
    pub(crate) clearest: usize,
    /// How well the local spacing explains the spectra.
    pub(crate) pitch_explained: f64,
    /// `s` of row 0 and the distance between rows, mm.
    along: (f64, f64),
}

impl Cloth {
    pub(crate) fn sample(
        columns: &Columns,
        trace: &BandTrace,
        planned_mm: f64,
        (lines, pattern): (&Lines, Option<&Pattern>),
        options: &PickOptions,
        (header_picks, cover): (Option<u32>, Cover),
    ) -> Result<Self, String> {
        let rows = columns.lab.dim().0;
        let pitch_rows = planned_mm / columns.step_mm;
        let start = (columns.row_of(trace.cloth_mm.0) - 1.5 * pitch_rows).max(0.0);
        let end = (columns.row_of(trace.cloth_mm.1) + 1.5 * pitch_rows).min(rows as f64 - 1.0);
        let step = pitch_rows / SAMPLES_A_PICK as f64;
        let n = ((end - start) / step).floor().max(0.0) as usize;
        if n < 5 * SAMPLES_A_PICK {
            return Err("too little cloth is in view".into());
        }
        let even: Vec<f64> = (0..n).map(|k| start + k as f64 * step).collect();
        let raw = columns.resample(&even);
        let border = |s_mm: f64| {
            ((columns.row_of(s_mm) - start) / step)
                .round()
                .clamp(0.0, n as f64) as usize
        };
        let cloth = (border(trace.cloth_mm.0), border(trace.cloth_mm.1));
        let header = header_picks
            .filter(|picks| *picks > 0)
            .map(|picks| PlannedHeader {
                picks,
                warp_hides: cover == Cover::Warp,
            });
        let body = if options.headers {
            body_range(&raw, cloth, header, cover)
        } else {
            cloth
        };
        let sigma = 0.5 * (lines.rows.max(2) * SAMPLES_A_PICK) as f64;
        let inner = |picture: &Array2<f32>| {
            picture
                .slice_axis(Axis(0), Slice::from(body.0..body.1))
                .to_owned()
        };
        let inner = levelled(&inner(&high_pass(&raw, sigma, body)), &inner(&raw)).samples;
        let pitch = local_pitch(&inner, lines, pattern, options.spacing_range)
            .ok_or("too few picks are in view")?;
        let mut sampled = Self::resampled(columns, &even, body, &pitch, sigma);
        sampled.cover = cover;
        sampled.header_planned = header_picks.map(|picks| picks > 0);
        sampled.headers = (body.0 > cloth.0, body.1 < cloth.1);
        sampled.edges = (
            sampled.sample_of(trace.cloth_mm.0),
            sampled.sample_of(trace.cloth_mm.1),
        );
        let furrow = HALF_FURROW * SAMPLES_A_PICK as f64;
        let (seen, planned) = (sampled.headers, header.is_some());
        let (first, beyond) = sharpened(&sampled.raw, sampled.body, seen, planned);
        if let Some(first) = first {
            sampled.edges.0 = first - 0.5 + furrow;
        }
        if let Some(beyond) = beyond {
            sampled.edges.1 = beyond - 0.5 - furrow;
        }
        // What lies beyond is mostly fringe or header, and would draw the path after it.
        let (from, to) = sampled.edges;
        sampled.level = sampled
            .level
            .trusting(|i| (from..=to).contains(&(i as f64)));
        let places: Vec<f64> = (0..sampled.raw.dim().0)
            .map(|k| sampled.s_mm(k as f64))
            .collect();
        sampled.beside = Beside::of(trace, &places);
        Ok(sampled)
    }

    /// Samples again, now at the local spacing.
    fn resampled(
        columns: &Columns,
        even: &[f64],
        body: (usize, usize),
        pitch: &LocalPitch,
        sigma: f64,
    ) -> Self {
        let first = body.0;
        let ratio = |k: usize| pitch.ratio[k.saturating_sub(body.0).min(pitch.ratio.len() - 1)];
        let step = even[1] - even[0];
        let mut phase = vec![0.0];
        for k in 1..even.len() {
            phase.push(phase[k - 1] + 1.0 / ratio(k));
        }
        let total = phase[phase.len() - 1].floor() as usize;
        let index: Vec<f64> = (0..even.len()).map(|k| k as f64).collect();
        let places: Vec<f64> = (0..=total)
            .map(|k| even[0] + step * interpolate(&phase, &index, k as f64))
            .collect();
        let moved = |k: usize| (phase[k.min(phase.len() - 1)].round() as usize).min(places.len());
        let body = (moved(body.0), moved(body.1));
        let raw = columns.resample(&places);
        let samples = high_pass(&raw, sigma, body);
        Self {
            level: levelled(&samples, &raw),
            body,
            edges: (0.0, 0.0),
            headers: (false, false),
            header_planned: None,
            cover: Cover::Both,
            rarer: None,
            beside: Beside::default(),
            clearest: moved(first + pitch.clearest),
            samples,
            raw,
            places,
            pitch_explained: pitch.explained,
            along: (columns.s0_mm, columns.step_mm),
        }
    }

    /// Brings the rows of the rarer weft to the contrast of the usual one's, which may mean to turn dark
    /// and light round; a channel each, for the levelled samples and the others.
    pub(crate) fn liken(&mut self, level: [f32; 3], samples: [f32; 3]) {
        let columns = self.samples.dim().1;
        let rarer = self.rarer.iter().flatten().enumerate();
        for (i, _) in rarer.filter(|(_, rare)| **rare) {
            for k in 0..columns {
                self.level.samples[[i, k]] *= level[k % 3];
                self.samples[[i, k]] *= samples[k % 3];
            }
        }
    }

    /// The whole sample nearest to a fractional one.
    pub(crate) fn nearest(&self, place: f64) -> usize {
        (place.round().max(0.0) as usize).min(self.raw.dim().0 - 1)
    }

    /// Whether the weft at a fractional sample is the rarer of two.
    pub(crate) fn shows_rarer(&self, place: f64) -> bool {
        let rarer = self.rarer.as_ref();
        rarer.is_some_and(|rarer| rarer[self.nearest(place)])
    }

    /// First and last whole sample of the body.
    pub(crate) fn inside(&self) -> (usize, usize) {
        let last = self.samples.dim().0 - 1;
        let from = (self.edges.0.ceil().max(0.0) as usize).min(last);
        (
            from,
            (self.edges.1.floor().max(0.0) as usize).clamp(from, last),
        )
    }

    /// The fractional sample of a place, mm.
    fn sample_of(&self, s_mm: f64) -> f64 {
        let row = (s_mm - self.along.0) / self.along.1;
        let last = self.places.len() - 1;
        let k = self.places.partition_point(|p| *p <= row).clamp(1, last);
        let (a, b) = (self.places[k - 1], self.places[k]);
        k as f64 - 1.0 + (row - a) / (b - a)
    }

    /// `s` in mm of a fractional sample.
    pub(crate) fn s_mm(&self, sample: f64) -> f64 {
        let last = self.places.len() - 2;
        let k = (sample.floor().max(0.0) as usize).min(last);
        let row = self.places[k] + (sample - k as f64) * (self.places[k + 1] - self.places[k]);
        self.along.0 + self.along.1 * row
    }

    /// Millimetres a sample around a sample.
    pub(crate) fn mm_a_sample(&self, sample: f64) -> f64 {
        self.s_mm(sample + 0.5) - self.s_mm(sample - 0.5)
    }
}
