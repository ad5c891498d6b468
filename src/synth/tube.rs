//! Lays yarn into a height field: at every cell the topmost yarn wins.

use std::f32::consts::{PI, TAU};

use super::rng::Rng;
use super::spec::YarnLook;
use super::yarn::{Knot, Yarn};

/// The height field that yarns are laid into; x runs along the band, y across it.
#[derive(Clone, Debug)]
pub(super) struct Field {
    /// Cells along the band.
    pub nx: usize,
    /// Cells across.
    pub ny: usize,
    /// Side of a cell, mm.
    pub cell_mm: f64,
    /// `s` and `t` of the first cell's centre, mm.
    pub origin_mm: (f64, f64),
    /// Height of the topmost yarn, mm; the floor where there is none.
    pub z: Vec<f32>,
    /// Lightness of the yarn's colour there.
    pub tone: Vec<f32>,
    /// Which look the yarn has.
    pub look: Vec<u8>,
    /// Share of the cell under yarn.
    pub cover: Vec<f32>,
}

impl Field {
    pub(super) fn new(
        nx: usize,
        ny: usize,
        cell_mm: f64,
        origin_mm: (f64, f64),
        floor_mm: f64,
    ) -> Self {
        Self {
            nx,
            ny,
            cell_mm,
            origin_mm,
            z: vec![floor_mm as f32; nx * ny],
            tone: vec![0.0; nx * ny],
            look: vec![0; nx * ny],
            cover: vec![0.0; nx * ny],
        }
    }

    /// Lays one yarn.
    pub(super) fn lay(&mut self, yarn: &Yarn, skin: &Skin, flatness: f64) {
        let knots = yarn.drawn_knots();
        let tangents = tangents(&knots);
        let mut run = yarn.run_mm;
        for (pair, turn) in knots.windows(2).zip(tangents.windows(2)) {
            let length = (pair[1].s - pair[0].s).hypot(pair[1].t - pair[0].t);
            if length > 1e-9 {
                let piece = self.piece(
                    pair,
                    turn,
                    skin.twist(run, length),
                    flatness,
                    yarn.tone as f32,
                );
                self.fill(&piece, skin, yarn.look);
            }
            run += length;
        }
    }

    /// One piece of yarn in cell units.
    fn piece(
        &self,
        knots: &[Knot],
        tangents: &[(f64, f64)],
        twist: Twist,
        flatness: f64,
        tone: f32,
    ) -> Piece {
        let cell = |knot: &Knot| {
            (
                ((knot.s - self.origin_mm.0) / self.cell_mm) as f32,
                ((knot.t - self.origin_mm.1) / self.cell_mm) as f32,
            )
        };
        let narrow = |(x, y): (f64, f64)| (x as f32, y as f32);
        let (a, b) = (&knots[0], &knots[1]);
        Piece {
            a: cell(a),
            b: cell(b),
            cut_a: narrow(tangents[0]),
            cut_b: narrow(tangents[1]),
            radius: ((a.r / self.cell_mm) as f32, (b.r / self.cell_mm) as f32),
            height: (a.z as f32, b.z as f32),
            dome_mm: ((a.r * flatness) as f32, (b.r * flatness) as f32),
            twist,
            tone,
        }
    }

    /// Cells around the four corners of a piece.
    fn bounds(&self, p: &Piece) -> ((usize, usize), (usize, usize)) {
        let (ra, rb) = (p.radius.0 + 1.0, p.radius.1 + 1.0);
        let range = |a: f32, b: f32, da: f32, db: f32, limit: usize| {
            let low = (a - da.abs()).min(b - db.abs()).floor().max(0.0) as usize;
            let high = (a + da.abs()).max(b + db.abs()).ceil() + 1.0;
            (low, high.clamp(0.0, limit as f32) as usize)
        };
        (
            range(p.a.0, p.b.0, ra * p.cut_a.1, rb * p.cut_b.1, self.nx),
            range(p.a.1, p.b.1, ra * p.cut_a.0, rb * p.cut_b.0, self.ny),
        )
    }

    fn fill(&mut self, p: &Piece, skin: &Skin, look: usize) {
        let ((x0, x1), (y0, y1)) = self.bounds(p);
        let (dx, dy) = (p.b.0 - p.a.0, p.b.1 - p.a.1);
        let norm = dx.hypot(dy).max(1e-6);
        let (ux, uy) = (dx / norm, dy / norm);
        for y in y0..y1 {
            let (ya, yb) = (y as f32 - p.a.1, y as f32 - p.b.1);
            for x in x0..x1 {
                let (xa, xb) = (x as f32 - p.a.0, x as f32 - p.b.0);
                let before = xa * p.cut_a.0 + ya * p.cut_a.1;
                let after = xb * p.cut_b.0 + yb * p.cut_b.1;
                if before < 0.0 || after >= 0.0 {
                    continue;
                }
                let f = before / (before - after);
                let side = xa * uy - ya * ux;
                let mix = |(from, to): (f32, f32)| from + (to - from) * f;
                let radius = mix(p.radius);
                let cover = (radius - side.abs() + 0.5).clamp(0.0, 1.0);
                if cover <= 0.0 {
                    continue;
                }
                let i = y * self.nx + x;
                self.cover[i] = self.cover[i].max(cover);
                let (base, dome_mm) = (mix(p.height), mix(p.dome_mm));
                if base + dome_mm <= self.z[i] {
                    continue;
                }
                let v = (side / radius.max(1e-3)).clamp(-1.0, 1.0);
                let (dome, tone) = skin.at(v, mix(p.twist.turns), mix(p.twist.run_mm));
                let height = base + dome_mm * dome;
                if height > self.z[i] {
                    self.z[i] = height;
                    self.tone[i] = tone * p.tone;
                    self.look[i] = look as u8;
                }
            }
        }
    }
}

/// A straight piece of yarn between two cuts, cells.
struct Piece {
    a: (f32, f32),
    b: (f32, f32),
    cut_a: (f32, f32),
    cut_b: (f32, f32),
    radius: (f32, f32),
    height: (f32, f32),
    dome_mm: (f32, f32),
    twist: Twist,
    tone: f32,
}

/// How far the twist has come at the two ends of a piece.
#[derive(Clone, Copy)]
struct Twist {
    /// Ply lobes passed, counted from far below zero so that it stays positive.
    turns: (f32, f32),
    /// Place on the yarn within the fibre table, mm.
    run_mm: (f32, f32),
}

/// Direction of the path at every knot, so that pieces meet without gap or overlap.
fn tangents(knots: &[Knot]) -> Vec<(f64, f64)> {
    (0..knots.len())
        .map(|i| {
            let (a, b) = (
                &knots[i.saturating_sub(1)],
                &knots[(i + 1).min(knots.len() - 1)],
            );
            let (ds, dt) = (b.s - a.s, b.t - a.t);
            let norm = ds.hypot(dt).max(1e-9);
            (ds / norm, dt / norm)
        })
        .collect()
}

/// Entries of a skin's tables.
const TABLE: usize = 256;

/// Fibre streaks around a yarn.
const STREAKS: usize = 16;
/// Entries of the fibre table to a millimetre of yarn, coarse mottling and fine fibres.
const FIBRES_PER_MM: (f32, f32) = (1.7, 9.0);

/// The relief and lightness of a yarn's surface, as tables.
pub(super) struct Skin {
    angle: Vec<f32>,
    dome: Vec<f32>,
    lobe: Vec<f32>,
    fibre: Vec<f32>,
    plies: f32,
    lobes_per_mm: f64,
    groove: f32,
    heather: f32,
}

impl Skin {
    pub(super) fn new(look: &YarnLook, radius_mm: f64, seed: u64) -> Self {
        let mut rng = Rng::fork(seed, 77);
        let across = |i: usize| 2.0 * i as f32 / (TABLE - 1) as f32 - 1.0;
        let plies = look.plies.max(1) as f64;
        let lay_mm = look.lay.abs().max(0.5) * 2.0 * radius_mm.max(0.02) * look.lay.signum();
        let single = if look.plies > 1 { 1.0 } else { 0.25 };
        Self {
            angle: (0..TABLE).map(|i| across(i).asin()).collect(),
            dome: (0..TABLE)
                .map(|i| (1.0 - across(i).powi(2)).max(0.0).sqrt())
                .collect(),
            lobe: (0..TABLE)
                .map(|i| (TAU * i as f32 / TABLE as f32).cos())
                .collect(),
            fibre: (0..TABLE * STREAKS)
                .map(|_| rng.rough_normal().clamp(-2.5, 2.5))
                .collect(),
            plies: plies as f32,
            lobes_per_mm: plies / lay_mm,
            groove: (single * look.groove) as f32,
            heather: look.heather as f32,
        }
    }

    /// The twist of a piece `length` mm long that begins after `run` mm of yarn.
    fn twist(&self, run: f64, length: f64) -> Twist {
        /// Keeps turns positive whichever way the yarn is twisted.
        const AHEAD: f64 = 64.0;
        let begin = AHEAD - (run * self.lobes_per_mm).rem_euclid(1.0);
        let along = run.rem_euclid(TABLE as f64);
        Twist {
            turns: (begin as f32, (begin - length * self.lobes_per_mm) as f32),
            run_mm: (along as f32, (along + length) as f32),
        }
    }

    /// Height (1 on top of a smooth yarn) and lightness at `v` (−1 … 1 across the yarn) where the
    /// twist has come to `turns` and the fibre table to `run_mm`.
    fn at(&self, v: f32, turns: f32, run_mm: f32) -> (f32, f32) {
        let i = ((v + 1.0) * 0.5 * (TABLE - 1) as f32) as usize;
        let angle = self.angle[i];
        let turn = turns + self.plies * angle / TAU;
        let lobe = self.lobe[((turn - turn as i32 as f32) * TABLE as f32) as usize % TABLE];
        let low = (0.5 - 0.5 * lobe) * (0.5 - 0.5 * lobe);
        let around = angle * (10.0 / PI) + 8.0;
        let streak = (around + 4.0 * turn) as usize % STREAKS;
        let row = &self.fibre[streak * TABLE..(streak + 1) * TABLE];
        let coarse = row[(run_mm * FIBRES_PER_MM.0) as usize % TABLE];
        let fine = row[(run_mm * FIBRES_PER_MM.1 + 3.0 * around) as usize % TABLE];
        let dome = self.dome[i] * (1.0 - 0.36 * self.groove * low) * (1.0 + 0.012 * fine);
        let tone = (1.0 - 0.5 * self.groove * low)
            * (1.0 + self.heather * (0.7 * coarse + 0.6 * fine) + 0.02 * fine);
        (dome, tone)
    }
}
