//! From millimetres on the band, as results and corrections count them, to places in the trace.

use crate::scale::OnCloth;

/// Where 0 mm lies, and how lengths on the cloth stand to lengths in the trace.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ruler {
    /// `s` in the trace of the start of the body as the program finds it, mm.
    pub start_mm: f64,
    /// Lengths along.
    pub along: OnCloth,
    /// Lengths across.
    pub across: OnCloth,
}

impl Ruler {
    /// `s` in the trace of a place along the band.
    #[must_use]
    pub fn s(&self, at_mm: f64) -> f64 {
        self.start_mm + at_mm / self.along.factor
    }

    /// The place along the band of an `s` in the trace.
    #[must_use]
    pub fn at(&self, s: f64) -> f64 {
        (s - self.start_mm) * self.along.factor
    }
}
