//! Every band at one scale, the starts of their bodies under one another.
//!
//! A band is its picture where one is at hand, else the outline and the picks of its result. Either
//! is kept once on the page, in millimetres, and shown again on the weaver's slip.

use std::fmt::Write;

use crate::measurement::Measurement;
use crate::report::band_picture::BandPicture;
use crate::report::html::picture::jpeg_address;
use crate::report::html::svg::{escaped, opened};
use crate::report::quantity::{Kind, Units, with_unit};

use super::page::ClassBand;

/// Width of a drawing, px.
const WIDE_PX: f64 = 960.0;
/// Room left and right of the longest body where no picture shows what lies there, mm.
const BEYOND_MM: f64 = 4.0;
/// A longer or broader band isn't drawn: no loom makes it, so its result isn't to be trusted.
const LONGEST_MM: f64 = 50_000.0;
/// Ground above and below an outline, mm.
const BESIDE_MM: f64 = 3.0;

/// The scale that every band of the page is drawn at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct OneScale {
    from_mm: f64,
    px_per_mm: f64,
    longest_mm: f64,
}

impl OneScale {
    /// The scale at which the longest band fits; `None` where no band's length is known.
    pub(super) fn new(bands: &[ClassBand<'_>]) -> Option<Self> {
        let extents = bands
            .iter()
            .filter_map(|band| Some(Extent::of(band)?.along));
        let whole = extents.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))?;
        let lengths = bands.iter().filter_map(|band| length_mm(band.measurement));
        Some(Self {
            from_mm: whole.0,
            px_per_mm: WIDE_PX / (whole.1 - whole.0),
            longest_mm: lengths.fold(0.0, f64::max),
        })
    }

    /// A band as an element of the page, with its name on the page `id`; `name` is the weaver's.
    /// `None` where there is nothing of it to draw.
    pub(super) fn draw(&self, band: &ClassBand<'_>, id: &str, name: &str) -> Option<String> {
        let extent = Extent::of(band)?;
        let mut out = self.opened(&extent, id, name, &described(band));
        // A text in memory takes every word.
        let _ = write!(
            out,
            "<g transform=\"{}\"><g id=\"{id}\">{}</g></g></svg>",
            self.transform(&extent),
            content(band, &extent)?
        );
        Some(out)
    }

    /// The same band again, drawn from the element `id`; its own name is `again`.
    pub(super) fn draw_again(
        &self,
        band: &ClassBand<'_>,
        id: &str,
        again: &str,
        name: &str,
    ) -> Option<String> {
        let extent = Extent::of(band)?;
        let mut out = self.opened(&extent, again, name, &described(band));
        // A text in memory takes every word.
        let _ = write!(
            out,
            "<use href=\"#{id}\" transform=\"{}\"/></svg>",
            self.transform(&extent)
        );
        Some(out)
    }

    fn opened(&self, extent: &Extent, id: &str, name: &str, description: &str) -> String {
        let height = (extent.across.1 - extent.across.0) * self.px_per_mm;
        opened(
            (WIDE_PX, height.max(1.0)),
            id,
            &format!("The band of {name}"),
            description,
        )
    }

    /// From a band's millimetres to its drawing.
    fn transform(&self, extent: &Extent) -> String {
        let scale = self.px_per_mm;
        format!(
            "translate({:.2} {:.2}) scale({scale:.4})",
            -self.from_mm * scale,
            -extent.across.0 * scale
        )
    }

    /// A ruler under all bands, `width` px wide with letters of `letters` px.
    pub(super) fn ruler(&self, id: &str, units: Units, (width, letters): (f64, f64)) -> String {
        let (factor, unit) = Kind::Length.shown_as(units);
        let scale = self.px_per_mm * width / WIDE_PX;
        let x = |mm: f64| (mm - self.from_mm) * scale;
        let longest = self.longest_mm * factor;
        let step = step(longest, width / (letters * 4.0));
        let height = letters * 3.2;
        let mut out = opened(
            (width, height),
            id,
            "Ruler",
            &format!("The length axis of all bands, 0 to {longest:.1} {unit} from the start"),
        );
        let mut line = String::new();
        let mut words = String::new();
        let mut at = 0.0;
        // A text in memory takes every word.
        while at <= longest + 1e-9 {
            let x = x(at / factor);
            let _ = write!(line, "M{x:.1} 0V{:.1}", letters * 0.6);
            let _ = write!(
                words,
                "<text x=\"{x:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{}</text>",
                letters * 1.7,
                crate::units::rounded(at, 1)
            );
            at += step;
        }
        let _ = write!(
            out,
            "<path d=\"M{:.1} 0H{:.1}{line}\" fill=\"none\" stroke=\"#54616a\"/>\
             <g fill=\"#46535a\" font-size=\"{letters}\" font-family=\"sans-serif\">{words}\
             <text x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{unit} from the start of the body</text></g></svg>",
            x(0.0),
            x(self.longest_mm),
            x(self.longest_mm / 2.0),
            letters * 2.9
        );
        out
    }
}

/// A round distance of marks, so that at most about `most` of them fit on `longest`.
fn step(longest: f64, most: f64) -> f64 {
    let least = (longest / most).max(0.5);
    let ten = 10_f64.powf(least.log10().floor());
    let steps = [1.0, 2.0, 5.0].map(|step| step * ten);
    let fits = |step: &f64| *step >= least;
    steps.into_iter().find(fits).unwrap_or(10.0 * ten)
}

/// Where a band's drawing lies, mm along and across.
#[derive(Clone, Copy, Debug)]
struct Extent {
    along: (f64, f64),
    across: (f64, f64),
}

impl Extent {
    fn of(band: &ClassBand<'_>) -> Option<Self> {
        if let Some(picture) = band.picture {
            return Some(Self {
                along: picture.along_mm,
                across: picture.across_mm,
            });
        }
        let length = length_mm(band.measurement)?;
        let (left, right) = half_widths_mm(band.measurement)?;
        Some(Self {
            along: (-BEYOND_MM, length + BEYOND_MM),
            across: (-left - BESIDE_MM, right + BESIDE_MM),
        })
    }
}

/// The body's length, mm; of a band that runs out of its photo, what is in view.
fn length_mm(measurement: &Measurement) -> Option<f64> {
    let picks = measurement.picks.as_ref();
    let last = picks.and_then(|picks| picks.positions_mm.last().copied());
    measurement
        .length_mm
        .map(|length| length.value)
        .or(last)
        .filter(|length| (1.0..LONGEST_MM).contains(length))
}

/// How far the selvedges come out from the centre line, mm.
fn half_widths_mm(measurement: &Measurement) -> Option<(f64, f64)> {
    let width = measurement.width.as_ref()?;
    let most = |edge: &[f64]| edge.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let (left, right) = (most(&width.profile.left_mm), most(&width.profile.right_mm));
    let half = width.mean_mm.value / 2.0;
    let halves = if left.is_finite() && right.is_finite() {
        (left, right)
    } else {
        (half, half)
    };
    let sound = |half: f64| (-LONGEST_MM..LONGEST_MM).contains(&half);
    (sound(halves.0) && sound(halves.1) && halves.0 + halves.1 > 0.0).then_some(halves)
}

/// The band in its millimetres.
fn content(band: &ClassBand<'_>, extent: &Extent) -> Option<String> {
    match band.picture {
        Some(picture) => photo(picture),
        None => Some(outline(band.measurement, extent)),
    }
}

fn photo(picture: &BandPicture) -> Option<String> {
    let (along, across) = (picture.along_mm, picture.across_mm);
    Some(format!(
        "<image x=\"{:.3}\" y=\"{:.3}\" width=\"{:.3}\" height=\"{:.3}\" \
         preserveAspectRatio=\"none\" href=\"{}\"/>",
        along.0,
        across.0,
        along.1 - along.0,
        across.1 - across.0,
        jpeg_address(&picture.picture)?
    ))
}

/// Outline and picks, drawn from the result.
fn outline(measurement: &Measurement, extent: &Extent) -> String {
    let (from, to) = (0.0, extent.along.1 - BEYOND_MM);
    let edges = edges(measurement, (from, to), extent);
    let mut path = String::new();
    // A text in memory takes every word.
    for (index, (at, left, _)) in edges.iter().enumerate() {
        let begin = if index == 0 { 'M' } else { 'L' };
        let _ = write!(path, "{begin}{at:.2} {:.2}", -left);
    }
    for (at, _, right) in edges.iter().rev() {
        let _ = write!(path, "L{at:.2} {right:.2}");
    }
    let mut picks = String::new();
    let positions = measurement.picks.as_ref().map(|picks| &picks.positions_mm);
    let within = |at: &&f64| (from..=to).contains(*at);
    for at in positions.into_iter().flatten().filter(within) {
        let next = edges.partition_point(|edge| edge.0 < *at);
        if let Some((_, left, right)) = edges.get(next).or(edges.last()) {
            let _ = write!(picks, "M{at:.2} {:.2}V{right:.2}", -left);
        }
    }
    format!(
        "<path d=\"{path}Z\" fill=\"#f1ece0\" stroke=\"#1c282e\" stroke-width=\"0.35\"/>\
         <path d=\"{picks}\" fill=\"none\" stroke=\"#105c68\" stroke-width=\"0.3\"/>"
    )
}

/// Place, left and right selvedge along the outline, thinned to a millimetre.
fn edges(measurement: &Measurement, ends: (f64, f64), extent: &Extent) -> Vec<(f64, f64, f64)> {
    let plain = |at| {
        (
            at,
            -extent.across.0 - BESIDE_MM,
            extent.across.1 - BESIDE_MM,
        )
    };
    let Some(width) = &measurement.width else {
        return vec![plain(ends.0), plain(ends.1)];
    };
    let profile = &width.profile;
    let all = profile
        .at_mm
        .iter()
        .zip(profile.left_mm.iter().zip(&profile.right_mm));
    let mut out: Vec<(f64, f64, f64)> = Vec::new();
    let within = all.filter(|(at, _)| (ends.0..=ends.1).contains(*at));
    for (at, (left, right)) in within {
        if out.last().is_none_or(|last| at - last.0 >= 1.0) {
            out.push((*at, *left, *right));
        }
    }
    if out.len() < 2 {
        return vec![plain(ends.0), plain(ends.1)];
    }
    out
}

/// What is seen, for those who don't.
fn described(band: &ClassBand<'_>) -> String {
    let m = band.measurement;
    let inches = Units::all(crate::units::LengthUnits::Inches);
    let parts: Vec<String> = [
        m.length_mm
            .map(|q| format!("{} long", with_unit(q, Kind::Length, inches))),
        m.width
            .as_ref()
            .map(|w| format!("{} wide", with_unit(w.mean_mm, Kind::Length, inches))),
        m.picks
            .as_ref()
            .map(|p| format!("picks {}", with_unit(p.per_inch, Kind::Density, inches))),
    ]
    .into_iter()
    .flatten()
    .collect();
    let how = match band.picture {
        Some(_) => "Laid straight, start at the left",
        None => "Drawn from its result, start at the left; no photo was at hand",
    };
    if parts.is_empty() {
        return format!("{how}.");
    }
    format!("{how}: {}.", parts.join(", "))
}

/// What stands beside a band that can't be drawn.
pub(super) fn why_not_drawn(name: &str) -> String {
    format!(
        "{} can't be drawn: its length and width weren't measured.",
        escaped(name)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measurement::made::Made;

    #[test]
    fn the_longest_band_sets_the_scale_for_all() {
        let made = |length: f64| {
            Made {
                length_mm: (length, 0.5),
                ..Made::default()
            }
            .measurement()
        };
        let (short, long) = (made(100.0), made(200.0));
        let bands = [&short, &long].map(|measurement| ClassBand {
            measurement,
            plan: None,
            picture: None,
        });
        let scale = OneScale::new(&bands).expect("both have a length");
        assert!((scale.px_per_mm - 960.0 / 208.0).abs() < 1e-9);
        let drawn = scale.draw(&bands[0], "band-1", "Ada").expect("drawn");
        assert!(
            drawn.contains("M0.00 ") && drawn.contains("L100.00 "),
            "{drawn}"
        );
    }

    #[test]
    fn marks_of_the_ruler_have_room() {
        assert!((step(23.0, 11.0) - 5.0).abs() < 1e-12);
        assert!((step(7.0, 11.0) - 1.0).abs() < 1e-12);
    }
}
