//! How far must something stand out before chance is no excuse?
//!
//! A band has many places at which the usual scatter may look like a fault. With `places`
//! independent ones, each may stand out by chance in [`FALSE_SHARE`]` / places` of bands (Bonferroni),
//! either way; Student's t allows for the scatter itself being known from few values.

use crate::stats::t_quantile;

/// Share of faultless bands in which one kind of finding may be invented: loose and tight stretches,
/// pulls and loops (both selvedges together), drift, taper.
///
/// What it promises for scatter without memory. Of 951 drawn bands without a stretch, whose spacings take after one
/// another by up to 0.6, seven had one told; of 1001 without a pull, five.
pub const FALSE_SHARE: f64 = 0.0008;

/// How many standard deviations something must stand out by, with `places` independent places to
/// look at and a standard deviation known from `freedom` values.
#[must_use]
pub(super) fn stands_out(places: f64, freedom: f64) -> f64 {
    let tail = FALSE_SHARE / (2.0 * places.max(1.0));
    t_quantile(1.0 - tail, freedom.max(3.0))
}
