//! The weft's path: across, around the outermost end, and back.

use super::layout::{Layout, stream};
use super::rng::{Rng, Wander};
use super::spec::{BandSpec, Side, Turns};
use super::yarn::{Knot, Part, Yarn, height_between};

/// Knots of one turn.
const TURN_KNOTS: usize = 20;

/// Draws the weft of one band.
pub(super) struct WeftWeaver<'a> {
    spec: &'a BandSpec,
    layout: &'a Layout,
    rng: Rng,
    thickness: Wander,
    run_mm: f64,
    starts_left: bool,
    tone: f64,
    shade: Wander,
}

impl<'a> WeftWeaver<'a> {
    pub(super) fn new(spec: &'a BandSpec, layout: &'a Layout) -> Self {
        let mut rng = Rng::fork(spec.seed, stream::WEFT);
        let thickness = Wander::new(&mut rng, 2.0 * spec.weft.thick_mm.max(0.5));
        let starts_left = rng.chance(0.5);
        let shade = Wander::new(&mut rng, 25.0 * spec.pick_spacing_mm);
        Self {
            spec,
            layout,
            rng,
            thickness,
            run_mm: 0.0,
            starts_left,
            tone: 1.0,
            shade,
        }
    }

    /// All pieces of the body's weft, in the order of weaving.
    pub(super) fn body(&mut self) -> Vec<Yarn> {
        let picks = self.layout.picks_mm.len();
        let mut pieces: Vec<Yarn> = Vec::with_capacity(2 * picks);
        let mut turns = Rng::fork(self.spec.seed, stream::TURN);
        let looped = matches!(self.spec.turns, Turns::Loops { .. });
        for k in 0..picks {
            let look = self.look(k);
            let mut piece = self.pick(k, look);
            let joined = looped && k > 0 && self.look(k - 1) == look;
            if joined && let Some(last) = pieces.last() {
                let turn = self.turn(k - 1, last, &piece, &mut turns);
                pieces.push(turn);
            } else {
                piece.tucked.0 = Some(0.8 * self.layout.lift.0);
            }
            let goes_on = looped && k + 1 < picks && self.look(k + 1) == look;
            if !goes_on {
                piece.tucked.1 = Some(0.8 * self.layout.lift.0);
            }
            pieces.push(piece);
        }
        pieces
    }

    /// The header's weft before (0) or after (1) the body.
    pub(super) fn header(&mut self, which: usize, look: usize) -> Vec<Yarn> {
        let Some(header) = &self.spec.header else {
            return Vec::new();
        };
        let radius = 0.5 * header.spacing_mm;
        let places = self.layout.header_mm[which].clone();
        let mut pieces = Vec::new();
        for (i, &s) in places.iter().enumerate() {
            let heights: Vec<f64> = (0..self.spec.ends)
                .map(|e| if (i + e) % 2 == 0 { 1.0 } else { -1.0 })
                .map(|sign| sign * self.layout.lift.0.max(0.6 * radius))
                .collect();
            let mut piece = self.across(s, &heights, radius, look, Part::Header, i % 2 == 0);
            piece.tucked = (Some(0.3), Some(0.3));
            pieces.push(piece);
        }
        pieces
    }

    /// Index of a pick's look: 0 the first weft, 1 the second.
    fn look(&self, pick: usize) -> usize {
        self.spec.weft_stripes.as_ref().map_or(0, |stripes| {
            usize::from(pick % (stripes.first + stripes.second).max(1) >= stripes.first)
        })
    }

    fn pick(&mut self, pick: usize, look: usize) -> Yarn {
        let lift = self.layout.lift.0;
        let heights: Vec<f64> = (0..self.spec.ends)
            .map(|end| {
                if self.layout.over(self.spec, pick, end) {
                    lift
                } else {
                    -lift
                }
            })
            .collect();
        let rightward = pick.is_multiple_of(2) == self.starts_left;
        let s = self.layout.picks_mm[pick];
        self.tone = 1.0 + 0.35 * self.spec.weft.heather * self.shade.at(s);
        self.across(
            s,
            &heights,
            self.layout.weft_radius,
            look,
            Part::Pick(pick),
            rightward,
        )
    }

    /// One pass at `s` with the given height at each end.
    fn across(
        &mut self,
        s: f64,
        heights: &[f64],
        radius: f64,
        look: usize,
        part: Part,
        rightward: bool,
    ) -> Yarn {
        let (spec, layout) = (self.spec, self.layout);
        let crossings: Vec<(f64, f64)> = heights
            .iter()
            .enumerate()
            .map(|(end, &z)| (layout.end(spec, end, s), z))
            .collect();
        let (left, right) = (
            layout.edge(spec, Side::Left, s),
            layout.edge(spec, Side::Right, s),
        );
        let inset = match spec.turns {
            Turns::Loops { .. } => 0.0,
            Turns::Flat => 0.5 * radius,
        };
        let (a, b) = if rightward {
            (left + inset, right - inset)
        } else {
            (right - inset, left + inset)
        };
        let step = (0.35 * radius)
            .min((right - left) / (6 * heights.len()) as f64)
            .max(0.04);
        let count = (((b - a).abs() / step).ceil() as usize).max(4);
        let wobble = Wander::new(&mut self.rng, 0.7 * (right - left));
        let lean = if rightward { 1.0 } else { -1.0 };
        let slant =
            spec.slant + lean * spec.zigzag * spec.pick_spacing_mm / (right - left).max(1.0);
        let half = layout.half_mm.max(0.1);
        let cv = if part == Part::Header {
            0.0
        } else {
            spec.weft.thickness_cv
        };
        let knots = (0..=count)
            .map(|i| {
                let t = a + (b - a) * i as f64 / count as f64;
                let bow = spec.bow_mm * (1.0 - (t / half).powi(2));
                let along = self.run_mm + (t - a).abs();
                Knot {
                    s: s + slant * t + bow + spec.wobble * spec.pick_spacing_mm * wobble.at(t),
                    t,
                    z: height_between(&crossings, t),
                    r: radius * (1.0 + cv * self.thickness.at(along)).clamp(0.35, 1.9),
                }
            })
            .collect();
        let yarn = Yarn {
            knots,
            look,
            part,
            run_mm: self.run_mm,
            tone: self.tone,
            tucked: (None, None),
        };
        self.run_mm += yarn.length_mm();
        yarn
    }

    /// The half loop from one pick to the next.
    fn turn(&mut self, pick: usize, from: &Yarn, to: &Yarn, rng: &mut Rng) -> Yarn {
        let (Some(&a), Some(&b)) = (from.knots.last(), to.knots.first()) else {
            return Yarn {
                knots: Vec::new(),
                look: from.look,
                part: Part::Turn(pick),
                run_mm: 0.0,
                tone: self.tone,
                tucked: (None, None),
            };
        };
        let (bulge, scatter) = match self.spec.turns {
            Turns::Loops { bulge, scatter } => (bulge, scatter),
            Turns::Flat => (0.0, 0.0),
        };
        let long: f64 = self
            .spec
            .long_turns
            .iter()
            .filter(|turn| turn.after_pick == pick)
            .map(|turn| turn.out_mm)
            .sum();
        let size = (1.0 + scatter * rng.normal()).clamp(0.4, 1.8);
        let lean = 0.12 * rng.normal().clamp(-2.0, 2.0);
        let out = bulge * size * self.layout.weft_radius + long;
        let sign = if a.t > 0.0 { 1.0 } else { -1.0 };
        let knots = (0..=TURN_KNOTS)
            .map(|i| {
                let x = i as f64 / TURN_KNOTS as f64;
                let angle = std::f64::consts::PI * x;
                let (middle, half) = (0.5 * (a.s + b.s), 0.5 * (b.s - a.s));
                let rise = angle.sin();
                Knot {
                    s: middle - half * angle.cos() + lean * half * rise,
                    t: a.t + (b.t - a.t) * x + sign * out * rise.powf(0.85),
                    z: a.z + (b.z - a.z) * x,
                    r: a.r + (b.r - a.r) * x,
                }
            })
            .collect();
        let yarn = Yarn {
            knots,
            look: from.look,
            part: Part::Turn(pick),
            run_mm: self.run_mm,
            tone: self.tone,
            tucked: (None, None),
        };
        self.run_mm += yarn.length_mm();
        yarn
    }
}
