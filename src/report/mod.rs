//! Results for people and for other programs: they only arrange what a
//! [`Measurement`](crate::measurement::Measurement) holds.

mod band_picture;
mod better_photo;
mod caution;
mod csv;
mod figures;
mod html;
mod json;
mod layout;
mod left_out;
mod marked;
mod overlay;
mod quantity;
mod shown;
mod shrink;
mod text;

pub use band_picture::BandPicture;
pub use caution::{CAUTION, caution_for, caution_in};
pub use csv::{CsvWriter, write_csv};
pub use html::{ClassBand, write_class_html, write_html};
pub use json::{write_json_line, write_json_pretty};
pub use layout::wrap_text;
pub use marked::marked_photo;
pub use overlay::{Overlay, PickMark, Strip};
pub use quantity::Units;
pub use shown::{ShownFigure, ShownPlanLine, shown_figures, shown_plan_lines};
pub use shrink::at_most;
pub use text::{TextOptions, scale_sentences, write_text};

use crate::plan::{LengthUnits, Plan};

/// What a report is told beside the measurement itself.
#[derive(Clone, Copy, Debug, Default)]
pub struct Context<'a> {
    /// The plan that the band was measured against, where there is one.
    pub plan: Option<&'a Plan>,
    /// The verdict, a sentence each.
    pub verdict: &'a [String],
    /// In which units lengths are shown; `None`: the plan's own, else centimetres.
    pub units: Option<LengthUnits>,
}

impl Context<'_> {
    /// The units that lengths are shown in.
    #[must_use]
    pub fn shown_units(&self) -> Units {
        match (self.units, self.plan) {
            (Some(units), _) => Units::all(units),
            (None, Some(plan)) => Units {
                lengths: plan.units,
                picks: plan.picks_units,
            },
            (None, None) => Units::default(),
        }
    }
}
