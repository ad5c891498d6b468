//! What a drawn band is made of: every choice a weaver, her yarn and her hands make.

use crate::plan::Drawdown;

/// One selvedge of the two.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// The weaver's left.
    Left,
    /// The weaver's right.
    Right,
}

impl Side {
    /// −1 for left, +1 for right: the sign of `t` on that side.
    #[must_use]
    pub const fn sign(self) -> f64 {
        match self {
            Self::Left => -1.0,
            Self::Right => 1.0,
        }
    }
}

/// Which yarn makes the surface.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Face {
    /// Warp and weft both show, both bend.
    Balanced,
    /// The weft is packed and hides the warp; the ends lie straight.
    WeftFaced,
    /// The ends are packed and hide the weft, which shows at the turns; the weft lies straight.
    WarpFaced,
}

/// What the weft does at a selvedge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Turns {
    /// One yarn that turns around the outermost end in a half loop.
    Loops {
        /// How far the yarn's centre stands out from the outermost end, in weft radii.
        bulge: f64,
        /// Spread of the bulge from turn to turn, share.
        scatter: f64,
    },
    /// Every pick ends bluntly at the outermost end: the edge is near flat.
    Flat,
}

/// How a yarn looks.
#[derive(Clone, Debug, PartialEq)]
pub struct YarnLook {
    /// Colour in sRGB, 0 to 1.
    pub colour: [f64; 3],
    /// Plies twisted together; 1 for a single.
    pub plies: usize,
    /// Length of one turn of the ply twist, in yarn diameters; negative twists the other way.
    pub lay: f64,
    /// Depth of the grooves between plies, 0 (smooth) to 1.
    pub groove: f64,
    /// Spread of the thickness along the yarn, share of the diameter (thick and thin).
    pub thickness_cv: f64,
    /// How long a thick place is, mm.
    pub thick_mm: f64,
    /// Mottling of the colour along the yarn, share of its lightness.
    pub heather: f64,
    /// Hairs that stand out, per mm of yarn.
    pub hairs_per_mm: f64,
    /// Length of a hair, mm.
    pub hair_mm: f64,
    /// How much it shines, 0 (wool) to 1 (silk).
    pub sheen: f64,
}

impl Default for YarnLook {
    fn default() -> Self {
        Self {
            colour: [0.85, 0.82, 0.74],
            plies: 2,
            lay: 3.2,
            groove: 0.5,
            thickness_cv: 0.03,
            thick_mm: 9.0,
            heather: 0.04,
            hairs_per_mm: 0.15,
            hair_mm: 1.5,
            sheen: 0.1,
        }
    }
}

/// A second colour in stripes: so many of the first, then so many of the second.
#[derive(Clone, Debug, PartialEq)]
pub struct Stripes {
    /// The second yarn.
    pub other: YarnLook,
    /// Picks (or ends) of the first yarn before the change.
    pub first: usize,
    /// Picks (or ends) of the second yarn before the change back.
    pub second: usize,
}

/// A stretch beaten looser or tighter than the rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// Where it begins, mm from the first pick.
    pub from_mm: f64,
    /// Where it ends, mm from the first pick.
    pub to_mm: f64,
    /// Spacing against the rest: above 1 is loose.
    pub factor: f64,
}

/// A place where a selvedge is pulled in (or stands out).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EdgeMark {
    /// Which selvedge.
    pub side: Side,
    /// Its middle, mm from the start of the body.
    pub at_mm: f64,
    /// How far in, mm; negative stands out.
    pub depth_mm: f64,
    /// Half its width at half its depth, mm.
    pub half_width_mm: f64,
}

/// A single turn that was left too long.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LongTurn {
    /// The pick (from 0) after which the weft turns.
    pub after_pick: usize,
    /// How far it stands out beyond the usual, mm.
    pub out_mm: f64,
}

/// A row of the drawdown woven out of turn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RowFault {
    /// At this pick (from 0) a row is skipped.
    LeftOut(usize),
    /// At this pick (from 0) the row before is woven again.
    Doubled(usize),
}

/// A few picks of another yarn before and after the body.
#[derive(Clone, Debug, PartialEq)]
pub struct Header {
    /// How many at each end.
    pub picks: usize,
    /// The yarn.
    pub yarn: YarnLook,
    /// Its pick spacing, mm.
    pub spacing_mm: f64,
}

/// Warp that runs on beyond the weaving.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fringe {
    /// Length at each end, mm; 0 for a band cut off at the weaving.
    pub length_mm: f64,
    /// Spread of the cut, share of the length.
    pub scatter: f64,
    /// How far strands wander sideways, mm.
    pub wander_mm: f64,
    /// Share of the strands that are there; the rest is darned away.
    pub kept: f64,
    /// Warp still stretched in the loom instead of a fringe, before the first and after the last
    /// pick: its length, mm, straight and fanning out to the width in the loom; 0 for a fringe.
    pub taut_mm: [f64; 2],
}

/// A band to draw. Lengths in mm; shares as fractions.
#[derive(Clone, Debug, PartialEq)]
pub struct BandSpec {
    /// Everything random follows from it.
    pub seed: u64,
    /// What it is called in its plan.
    pub title: String,
    /// The over/under grid; the weft goes over where it is true.
    pub drawdown: Drawdown,
    /// Warp positions.
    pub ends: usize,
    /// Strands in each.
    pub strands: usize,
    /// Picks of the body.
    pub picks: usize,
    /// Mean pick spacing, mm.
    pub pick_spacing_mm: f64,
    /// Spread of the spacing from pick to pick.
    pub spacing_cv: f64,
    /// Correlation of neighbouring spacings, −1 to 1.
    pub spacing_correlation: f64,
    /// Last spacing minus first, share of the mean.
    pub drift: f64,
    /// Spread of the mean spacing over the rows of the drawdown, share: the structure's own.
    pub rhythm: f64,
    /// Stretches beaten looser or tighter.
    pub stretches: Vec<Stretch>,
    /// Width in the loom.
    pub width_in_loom_mm: f64,
    /// Share of it that is lost.
    pub draw_in: f64,
    /// Loss of width from start to finish, share of the width: a taper.
    pub taper: f64,
    /// Slow waviness of the left and right selvedge, rms mm.
    pub waviness_mm: [f64; 2],
    /// Its wavelength, mm.
    pub wavelength_mm: f64,
    /// Places where a selvedge is pulled in or stands out.
    pub edge_marks: Vec<EdgeMark>,
    /// Turns left too long.
    pub long_turns: Vec<LongTurn>,
    /// Cells woven the other way: pick and end, from 0.
    pub mis_woven: Vec<(usize, usize)>,
    /// Rows out of turn.
    pub row_faults: Vec<RowFault>,
    /// Which yarn makes the surface.
    pub face: Face,
    /// What the weft does at the selvedges.
    pub turns: Turns,
    /// Weft thickness over pick spacing.
    pub weft_cover: f64,
    /// Breadth of an end (all strands) over the distance between ends.
    pub warp_cover: f64,
    /// Height of a yarn over its breadth.
    pub flatness: f64,
    /// Spread of the distance between ends, share.
    pub sett_scatter: f64,
    /// The weft.
    pub weft: YarnLook,
    /// A second weft in stripes.
    pub weft_stripes: Option<Stripes>,
    /// The warp.
    pub warp: YarnLook,
    /// A second warp in stripes.
    pub warp_stripes: Option<Stripes>,
    /// How far rows lie from square across the band, radians.
    pub slant: f64,
    /// How far a row leans from one selvedge to the other, its neighbours the other way, in pick
    /// spacings.
    pub zigzag: f64,
    /// How far the middle of a row runs ahead of its ends, mm.
    pub bow_mm: f64,
    /// Wobble of each row on its own, rms, share of the spacing.
    pub wobble: f64,
    /// How much the cloth lies in soft folds: lightness, rms share.
    pub creases: f64,
    /// Picks of another yarn before and after.
    pub header: Option<Header>,
    /// The fringe.
    pub fringe: Fringe,
    /// What the plan says of picks per inch, over what is woven.
    pub planned_over_real: f64,
}

impl Default for BandSpec {
    /// A plain-woven band of 11 ends, 10 picks per inch, 150 mm long, on an even day.
    fn default() -> Self {
        Self {
            seed: 1,
            title: "Drawn band".to_owned(),
            drawdown: super::drawdowns::plain(),
            ends: 11,
            strands: 1,
            picks: 60,
            pick_spacing_mm: 2.54,
            spacing_cv: 0.03,
            spacing_correlation: 0.2,
            drift: 0.0,
            rhythm: 0.0,
            stretches: Vec::new(),
            width_in_loom_mm: 36.0,
            draw_in: 0.07,
            taper: 0.0,
            waviness_mm: [0.15, 0.15],
            wavelength_mm: 35.0,
            edge_marks: Vec::new(),
            long_turns: Vec::new(),
            mis_woven: Vec::new(),
            row_faults: Vec::new(),
            face: Face::Balanced,
            turns: Turns::Loops {
                bulge: 0.9,
                scatter: 0.15,
            },
            weft_cover: 0.92,
            warp_cover: 0.45,
            flatness: 0.85,
            sett_scatter: 0.04,
            weft: YarnLook {
                colour: [0.16, 0.34, 0.55],
                ..YarnLook::default()
            },
            weft_stripes: None,
            warp: YarnLook::default(),
            warp_stripes: None,
            slant: 0.0,
            zigzag: 0.1,
            bow_mm: 0.0,
            wobble: 0.02,
            creases: 0.015,
            header: None,
            fringe: Fringe {
                length_mm: 18.0,
                scatter: 0.2,
                wander_mm: 1.2,
                kept: 1.0,
                taut_mm: [0.0; 2],
            },
            planned_over_real: 1.0,
        }
    }
}

impl BandSpec {
    /// Width that the band is meant to have off the loom, mm.
    #[must_use]
    pub fn nominal_width_mm(&self) -> f64 {
        self.width_in_loom_mm * (1.0 - self.draw_in)
    }

    /// Length of the body by the mean spacing, mm.
    #[must_use]
    pub fn nominal_length_mm(&self) -> f64 {
        self.picks as f64 * self.pick_spacing_mm
    }
}
