//! From the photo to the straight band with its selvedges and cloth ends.

use super::BandTrace;
use super::cells::Cells;
use super::ground::unlikeness;
use super::hint::{BandHint, BandOptions};
use super::lay::lay_of;
use super::piece::band_piece;
use super::straighten::{Window, straighten};
use crate::geometry::Point;
use crate::measurement::Warning;
use crate::photo::Photo;
use crate::raster::LinearPhoto;
use crate::scale::View;
use crate::stages::Stages;
use crate::{Error, Result};

/// Finds the band in a photo and lays it straight.
///
/// # Errors
///
/// [`Error::Unmeasurable`] where no band is found.
pub fn trace_band(
    photo: &Photo,
    view: &View,
    hint: &BandHint,
    options: &BandOptions,
    stages: &mut dyn Stages,
) -> Result<BandTrace> {
    let picture = LinearPhoto::new(&photo.pixels);
    let cells = Cells::new(&picture, view, options.cell_mm);
    let inside = searched(&cells, view, hint);
    let unlike = unlikeness(&cells, &inside);
    let nothing = || Error::Unmeasurable {
        why: "no band stands out from the ground: lay it on a ground of another colour, flat and \
              whole in the picture"
            .to_owned(),
    };
    let piece = band_piece(&cells, &unlike, hint.loom_width_mm).ok_or_else(nothing)?;
    let lay = lay_of(&cells, &piece.mask, view, hint).ok_or_else(nothing)?;
    let half = lay.width_mm / 2.0;
    let middle = lay.line.place(lay.length_mm / 2.0, 0.0);
    let window = Window {
        s_mm: (
            -options.margin_along_mm,
            lay.length_mm + options.margin_along_mm,
        ),
        t_mm: (
            -half - options.margin_across_mm,
            half + options.margin_across_mm,
        ),
        step_mm: 1.0 / view.px_per_mm(middle),
    };
    let mut warnings = Vec::new();
    if piece.next_mm2 > 0.6 * piece.area_mm2 {
        warnings.push(Warning {
            code: "several_pieces".to_owned(),
            text: "something else in the photo could be a band too; the larger was measured: \
                   photograph one band at a time"
                .to_owned(),
        });
    }
    let (straight, _covered) = straighten(&picture, view, lay.line, window);
    let rows = straight.lab[0].nrows();
    let _ = stages;
    Ok(BandTrace {
        left_mm: vec![-half; rows],
        right_mm: vec![half; rows],
        edge_noise_mm: 0.05,
        edge_bias_mm: 0.3,
        cloth_mm: (0.0, lay.length_mm),
        cloth_u_mm: (1.0, 1.0),
        runs_out: (false, false),
        warnings,
        straight,
    })
}

/// The cells that the band is looked for in.
fn searched(cells: &Cells, view: &View, hint: &BandHint) -> Vec<bool> {
    (0..cells.width * cells.height)
        .map(|i| {
            hint.region_mm.is_none_or(|(a, b)| {
                view.to_plane(cells.centre_px(i % cells.width, i / cells.width))
                    .is_some_and(|p: Point| {
                        p.x >= a.x.min(b.x)
                            && p.x <= a.x.max(b.x)
                            && p.y >= a.y.min(b.y)
                            && p.y <= a.y.max(b.y)
                    })
            })
        })
        .collect()
}
