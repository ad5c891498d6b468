//! A count from its exact size.

/// The nearest whole number from 0 up; 0 for what is negative or no number.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "clamped to what fits"
)]
#[must_use]
pub(crate) fn whole(exact: f64) -> usize {
    exact.round().clamp(0.0, 1e9) as usize
}
