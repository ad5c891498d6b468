//! What is known of the picks once they are found.

use super::own_repeat::OwnEnds;

/// The picks of the body, in the order they were woven.
#[derive(Clone, Debug, Default)]
pub struct PickTrack {
    /// `s` of the centre of each pick, mm, in the straight band's own coordinate.
    pub centres_mm: Vec<f64>,
    /// One standard uncertainty of each centre, mm.
    pub centre_u_mm: Vec<f64>,
    /// What of it is noise, of every pick by itself, mm.
    pub noise_u_mm: Vec<f64>,
    /// Two estimates of each centre from disjoint halves of the width, mm; their errors are
    /// independent but for what is common to the whole width.
    pub halves_mm: Option<(Vec<f64>, Vec<f64>)>,
    /// Drawdown row (from 0) of each pick, where the plan has a drawdown.
    pub rows: Option<Vec<usize>>,
    /// `s` of the outer edge of the first and of the last pick of the body, mm.
    pub body_mm: (f64, f64),
    /// One standard uncertainty of each end, mm.
    pub body_u_mm: (f64, f64),
    /// Whether the weft hides the warp, so that every pick is pressed against its neighbours.
    pub weft_hides_warp: bool,
    /// How sure the count is: 1 certain, 0 a guess.
    pub count_confidence: f64,
    /// Cells that differ from the drawdown, or else from the cloth's own repeat: pick and end, both from 0.
    pub odd_cells: Vec<(usize, usize)>,
    /// Where those ends lie, where they were held against the cloth's own repeat.
    pub own_ends: Option<OwnEnds>,
    /// Where cloth fills the picture: by how much its weft lies later towards the weaver's right, per length
    /// across; `None` of a band.
    pub weft_slope: Option<f64>,
    /// Which face and direction of the drawdown is seen, in words.
    pub face: Option<String>,
}
