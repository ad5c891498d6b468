//! What a plan works out to: whole picks, finished width, warp, loom and weft.
//!
//! # Method
//! 1. Picks = picks per inch × woven length, whole; where the plan names the row to finish on, the
//!    nearest number that ends on it, a tie up. The woven length follows from the whole picks.
//! 2. Finished width = width in the loom × (1 − draw-in) × (1 − shrinkage of the width).
//! 3. One strand of warp = (woven length / (1 − shrinkage)) / (1 − take-up) + 2 × fringe + loom
//!    waste: shrinkage is divided, not added, since it is a share of what is woven.
//! 4. Loom length = woven length / (1 − shrinkage) + 2 × fringe + 2 × room.
//! 5. Weft of one pick = W × (1 + crimp). W is the width off the loom where the plan says what
//!    draw-in its maker expects, else the width in the loom: the trade's rule (J. T. Taylor,
//!    *Cotton Weaving and Designing*), which lets draw-in stand for part of the crimp.
//!
//! # Limits
//! Headers are of another yarn and lie in the fringe's length: they are in none of the sums.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Drawdown, Plan};
use crate::units::{MM_PER_INCH, rounded};

/// The schema's name, first field of every worked plan.
pub const PLAN_WORKED_SCHEMA: &str = "evenfell/plan-worked/1";
/// Room at each end of the loom where the plan doesn't say, mm (2 in).
const LOOM_ROOM_MM: f64 = 50.8;
/// How near a half a number of picks counts as a tie: rounding of lengths, not weaving.
const TIE: f64 = 1e-6;
/// Up to how many ends a row is spoken to the selvedge; a longer one is spoken as far as it
/// repeats.
const SPOKEN_ENDS: u32 = 400;

/// What a plan works out to.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PlanWorked {
    /// [`PLAN_WORKED_SCHEMA`].
    pub schema: String,
    /// The plan's title.
    pub title: String,
    /// Whole picks of the body.
    pub picks: u32,
    /// Whole repeats of the drawdown in them; null without a drawdown.
    pub repeats: Option<u32>,
    /// Row of the drawdown (from 1) of the last pick; null without a drawdown.
    pub last_row: Option<u32>,
    /// Length of that many picks, mm.
    pub woven_length_mm: f64,
    /// Width after draw-in and washing, mm.
    pub finished_width_mm: f64,
    /// Whether that passes the hardware; null where the plan names none.
    pub fits_hardware: Option<bool>,
    /// Length to cut for one strand of warp, mm.
    pub warp_each_mm: f64,
    /// All strands together, mm.
    pub warp_total_mm: f64,
    /// Least length of the loom between its bars, mm.
    pub loom_length_mm: f64,
    /// Weft of one pick, mm.
    pub weft_each_pick_mm: f64,
    /// Weft of the body, mm.
    pub weft_total_mm: f64,
    /// How often the weft runs out with the working length in hand; null where none is given.
    pub joins: Option<u32>,
    /// Every row of the drawdown as weavers say it.
    pub rows: Vec<String>,
    /// Percentages that the plan doesn't give, counted as 0.
    pub assumed_zero: Vec<String>,
    /// What is doubtful in the plan, in words.
    pub notes: Vec<String>,
}

/// Works a plan out.
///
/// ```
/// use evenfell::plan::{Plan, STARTER_PLAN, work_out};
/// let worked = work_out(&Plan::from_json(STARTER_PLAN)?);
/// assert_eq!((worked.picks, worked.repeats, worked.last_row), (91, Some(45), Some(1)));
/// # Ok::<(), evenfell::Error>(())
/// ```
#[must_use]
pub fn work_out(plan: &Plan) -> PlanWorked {
    let picks = whole_picks(plan);
    let rows = plan
        .drawdown
        .as_ref()
        .map(|d| u32::try_from(d.rows()).unwrap_or(u32::MAX));
    let woven_length_mm = f64::from(picks) / plan.picks_per_inch * MM_PER_INCH;
    let finished_width_mm = plan.off_loom_width_mm() * (1.0 - plan.shrinkage.width.unwrap_or(0.0));
    let in_loom_mm = woven_length_mm / (1.0 - plan.shrinkage.length.unwrap_or(0.0));
    let fringes_mm = 2.0 * plan.warp.fringe_mm;
    let warp_each_mm = in_loom_mm / (1.0 - plan.warp.take_up.unwrap_or(0.0))
        + fringes_mm
        + plan.warp.loom_waste_mm;
    let weft_each_pick_mm = plan.weft_width_mm() * (1.0 + plan.weft.crimp.unwrap_or(0.0));
    let weft_total_mm = f64::from(picks) * weft_each_pick_mm;
    PlanWorked {
        schema: PLAN_WORKED_SCHEMA.to_owned(),
        title: plan.title.clone(),
        picks,
        repeats: rows.map(|rows| picks / rows),
        last_row: rows.map(|rows| (picks - 1) % rows + 1),
        woven_length_mm,
        finished_width_mm,
        fits_hardware: plan
            .hardware_width_mm
            .map(|width| finished_width_mm <= width + TIE),
        warp_each_mm,
        warp_total_mm: warp_each_mm * plan.strands(),
        loom_length_mm: in_loom_mm + fringes_mm + 2.0 * plan.loom_room_mm.unwrap_or(LOOM_ROOM_MM),
        weft_each_pick_mm,
        weft_total_mm,
        joins: plan
            .weft
            .working_length_mm
            .map(|length| joins(weft_total_mm, length)),
        rows: plan
            .drawdown
            .as_ref()
            .map(|d| spoken_rows(d, plan.ends))
            .unwrap_or_default(),
        assumed_zero: plan.assumed_zero(),
        notes: notes(plan),
    }
}

impl Plan {
    /// Width off the loom, before washing, mm.
    #[must_use]
    pub fn off_loom_width_mm(&self) -> f64 {
        self.width_in_loom_mm * (1.0 - self.draw_in.unwrap_or(0.0))
    }

    /// The width that one pick of weft is reckoned over, mm: off the loom where the plan says its
    /// draw-in, else in the loom.
    #[must_use]
    pub fn weft_width_mm(&self) -> f64 {
        // Without a draw-in the two are the same number; with it, crimp is ASTM's.
        self.off_loom_width_mm()
    }

    /// Strands of the whole warp.
    #[must_use]
    pub fn strands(&self) -> f64 {
        f64::from(self.ends) * f64::from(self.warp.strands)
    }

    /// The percentages that the plan doesn't give, by their place in it.
    #[must_use]
    pub fn assumed_zero(&self) -> Vec<String> {
        [
            ("draw_in", self.draw_in),
            ("warp.take_up", self.warp.take_up),
            ("weft.crimp", self.weft.crimp),
            ("shrinkage.length", self.shrinkage.length),
            ("shrinkage.width", self.shrinkage.width),
        ]
        .into_iter()
        .filter(|(_, share)| share.is_none())
        .map(|(place, _)| place.to_owned())
        .collect()
    }
}

fn whole_picks(plan: &Plan) -> u32 {
    let wanted = plan.picks_per_inch * plan.woven_length_mm / MM_PER_INCH;
    let (Some(drawdown), Some(row)) = (&plan.drawdown, plan.finish_on_row) else {
        return to_count((wanted + 0.5 + TIE).floor().max(1.0));
    };
    let rows = drawdown.rows() as f64;
    let row = f64::from(row);
    let repeats_below = ((wanted - row) / rows).floor().max(0.0);
    let below = row + repeats_below * rows;
    let above = below + rows;
    to_count(if above - wanted <= wanted - below + TIE {
        above
    } else {
        below
    })
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a whole number from 1 to the picks of the longest, densest plan that is read"
)]
fn to_count(whole: f64) -> u32 {
    whole.clamp(0.0, f64::from(u32::MAX)) as u32
}

fn joins(weft_mm: f64, in_hand_mm: f64) -> u32 {
    to_count(((weft_mm / in_hand_mm - TIE).ceil() - 1.0).max(0.0))
}

/// Every row as weavers say it: `over 2, under 1, over 2`.
fn spoken_rows(drawdown: &Drawdown, ends: u32) -> Vec<String> {
    (0..drawdown.rows())
        .map(|row| {
            let length = u32::try_from(drawdown.row_length(row))
                .unwrap_or(ends)
                .min(ends);
            if ends <= SPOKEN_ENDS || length == ends {
                speak(&drawdown.runs(row, ends))
            } else {
                format!("{}, and again across", speak(&drawdown.runs(row, length)))
            }
        })
        .collect()
}

fn speak(runs: &[(bool, u32)]) -> String {
    let spoken: Vec<String> = runs
        .iter()
        .map(|(over, ends)| format!("{} {ends}", if *over { "over" } else { "under" }))
        .collect();
    spoken.join(", ")
}

fn notes(plan: &Plan) -> Vec<String> {
    let mut notes = Vec::new();
    if let Some(weft) = &plan.weft.yarn {
        let most = crate::yarn::most_picks_per_inch(weft);
        if plan.picks_per_inch > most {
            notes.push(format!(
                "{} picks per inch are more than {} can lie at (about {}): a miscount, or another \
                 yarn?",
                rounded(plan.picks_per_inch, 1),
                weft.written,
                rounded(most, 0)
            ));
        }
    }
    notes
}

#[cfg(test)]
mod tests;
