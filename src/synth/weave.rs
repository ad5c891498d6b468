//! From a spec to yarn lying in the plane, with its truth.

use super::layout::Layout;
use super::spec::{BandSpec, YarnLook};
use super::truth::{Truth, body_ends};
use super::warp::warp;
use super::weft::WeftWeaver;
use super::yarn::Yarn;

/// A woven band, ready for a [`Camera`](super::Camera).
#[derive(Clone, Debug)]
pub struct Drawn {
    /// What is true of it.
    pub truth: Truth,
    /// What it was woven from.
    pub spec: BandSpec,
    pub(super) yarns: Vec<Yarn>,
    pub(super) looks: Vec<YarnLook>,
    /// Height of the ground below the cloth's middle plane, mm (negative).
    pub(super) floor_mm: f64,
    /// Box around all yarn: least `s`, greatest `s`, greatest |`t`|, mm.
    pub(super) extent_mm: (f64, f64, f64),
}

/// Weaves a band: lays every yarn, then measures what was laid.
///
/// ```
/// use evenfell::synth::{BandSpec, weave};
///
/// let drawn = weave(&BandSpec::default());
/// assert_eq!(drawn.truth.pick_mm.len(), 60);
/// assert!((drawn.truth.length_mm - 150.0).abs() < 10.0);
/// ```
#[must_use]
pub fn weave(spec: &BandSpec) -> Drawn {
    let layout = Layout::new(spec);
    let looks = looks(spec);
    let thickness_mm = layout.thickness_mm(spec);
    let floor_mm = -0.5 * thickness_mm;
    let mut weft = WeftWeaver::new(spec, &layout);
    let mut yarns = weft.body();
    yarns.extend(weft.header(0, HEADER_LOOK));
    yarns.extend(weft.header(1, HEADER_LOOK));
    yarns.extend(warp(spec, &layout, WARP_LOOK, floor_mm));
    let (start, finish) = body_ends(&layout, &yarns);
    for knot in yarns.iter_mut().flat_map(|yarn| &mut yarn.knots) {
        knot.s -= start;
    }
    let truth = Truth::of(spec, &layout, &yarns, finish - start, thickness_mm);
    let knots = || yarns.iter().flat_map(|yarn| &yarn.knots);
    let extent_mm = (
        knots().map(|knot| knot.s - knot.r).fold(0.0, f64::min),
        knots().map(|knot| knot.s + knot.r).fold(0.0, f64::max),
        knots()
            .map(|knot| knot.t.abs() + knot.r)
            .fold(0.0, f64::max),
    );
    Drawn {
        truth,
        spec: spec.clone(),
        yarns,
        looks,
        floor_mm,
        extent_mm,
    }
}

/// Index of the header's look.
const HEADER_LOOK: usize = 2;
/// Index of the first warp's look.
const WARP_LOOK: usize = 3;

/// First weft, second weft, header, first warp, second warp.
fn looks(spec: &BandSpec) -> Vec<YarnLook> {
    let other = |stripes: &Option<super::spec::Stripes>, first: &YarnLook| {
        stripes
            .as_ref()
            .map_or_else(|| first.clone(), |stripes| stripes.other.clone())
    };
    let header = spec
        .header
        .as_ref()
        .map_or_else(YarnLook::default, |header| header.yarn.clone());
    vec![
        spec.weft.clone(),
        other(&spec.weft_stripes, &spec.weft),
        header,
        spec.warp.clone(),
        other(&spec.warp_stripes, &spec.warp),
    ]
}
