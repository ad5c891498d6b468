//! The figures in the order a weaver reads them: one list for the text and for the page.

use crate::measurement::{Finding, FindingKind, Measurement, Quantity};
use crate::plan::Plan;
use crate::units::{LengthUnits, MM_PER_INCH};

use super::quantity::{Kind, Units, plain, stretch, value_only};

/// One line of the figures.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Figure {
    /// What it is.
    pub(super) name: &'static str,
    /// Its value.
    pub(super) value: Shown,
    /// A few words beside it.
    pub(super) note: Option<String>,
}

/// What stands beside a name.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Shown {
    /// Whole things, counted.
    Count(u32),
    /// A value with its doubt.
    Measured(Quantity, Kind),
}

/// Every figure that was measured.
pub(super) fn figures(measurement: &Measurement, plan: Option<&Plan>, units: Units) -> Vec<Figure> {
    let mut list = Vec::new();
    picks(measurement, &mut list);
    across(measurement, plan, units, &mut list);
    beat(measurement, &mut list);
    if let Some(edges) = &measurement.selvedges {
        for (name, edge) in [
            ("left selvedge, Wq", &edges.left),
            ("right selvedge, Wq", &edges.right),
        ] {
            let top = value_only(edge.wt_mm, Kind::Millimetres, units);
            let note = format!("rms; {top} mm lowest to highest");
            list.push(measured(name, edge.wq_mm, Kind::Millimetres).noted(note));
        }
    }
    list
}

/// A figure without a note.
fn measured(name: &'static str, quantity: Quantity, kind: Kind) -> Figure {
    Figure {
        name,
        value: Shown::Measured(quantity, kind),
        note: None,
    }
}

impl Figure {
    /// The figure with a note beside it.
    fn noted(mut self, note: impl Into<String>) -> Self {
        self.note = Some(note.into());
        self
    }
}

/// Count, density and length.
fn picks(measurement: &Measurement, list: &mut Vec<Figure>) {
    if let Some(picks) = &measurement.picks {
        if let Some(count) = picks.count {
            let mut figure = Figure {
                name: "picks",
                value: Shown::Count(count),
                note: None,
            };
            figure.note.clone_from(&picks.face);
            if measurement.swatch.is_some() {
                figure.note = Some("whose middle is in the picture's rectangle".into());
            }
            list.push(figure);
        }
        let name = if measurement.swatch.is_some() {
            "picks, square to the weft"
        } else if picks.count.is_none() {
            "picks, what is seen"
        } else {
            "picks, whole body"
        };
        list.push(measured(name, picks.per_inch, Kind::Density));
    }
    if let Some(swatch) = &measurement.swatch {
        let note = format!(
            "parts of picks at its two edges counted in; {} whole",
            swatch.whole_picks
        );
        list.push(measured("length in picks", swatch.length_in_picks, Kind::Picks).noted(note));
    }
    if let Some(length) = measurement.length_mm {
        let mut figure = measured("length of the body", length, Kind::Length);
        if measurement.state() == Some("in-loom") {
            figure.note = Some("woven so far, its warp stretched; shorter off the loom".into());
        }
        list.push(figure);
    }
}

/// Width, draw-in and the warp's density.
fn across(measurement: &Measurement, plan: Option<&Plan>, units: Units, list: &mut Vec<Figure>) {
    if let Some(width) = &measurement.width {
        let least = value_only(width.min_mm, Kind::Length, units);
        let most = value_only(width.max_mm, Kind::Length, units);
        let note = format!("mean; {least} to {most} along it");
        list.push(measured("width", width.mean_mm, Kind::Length).noted(note));
        let note = "weft turns included, as a ruler reads";
        list.push(measured("width over the turns", width.over_turns_mm, Kind::Length).noted(note));
    }
    if let Some(draw_in) = measurement.draw_in_percent {
        list.push(measured("draw-in", draw_in, Kind::Percent).noted(draw_in_note(measurement)));
    }
    if let Some(ends) = plan.and_then(|plan| ends_per_inch(measurement, plan)) {
        let balance = measurement
            .picks
            .as_ref()
            .map(|picks| balance(ends, picks.per_inch));
        let mut figure = measured("ends, finished cloth", ends, Kind::Density);
        figure.note = balance;
        list.push(figure);
    }
}

/// What draw-in means in the state that the cloth is in.
fn draw_in_note(measurement: &Measurement) -> &'static str {
    match measurement.state() {
        Some("in-loom") => "of the loom width, still in the loom; more comes off it",
        Some("off-loom") => "of the loom width, off the loom; a little more comes within days",
        Some("washed") => "of the loom width, what washing took included",
        _ => "of the loom width",
    }
}

/// The state of the cloth in words, where it was noted.
pub(super) fn state_words(measurement: &Measurement) -> Option<&'static str> {
    match measurement.state()? {
        "in-loom" => Some("still in the loom"),
        "off-loom" => Some("off the loom, not washed"),
        "washed" => Some("washed and dry"),
        _ => None,
    }
}

/// The beat and its parts.
fn beat(measurement: &Measurement, list: &mut Vec<Figure>) {
    let cv = measurement
        .picks
        .as_ref()
        .and_then(|picks| picks.spacing_cv_percent);
    if let Some(cv) = cv {
        list.push(measured("spacing CV", cv, Kind::Percent).noted("pick to pick"));
    }
    if let Some(beat) = &measurement.beat {
        let parts = [
            (
                "drift",
                Some(beat.drift_percent),
                "above 0: wider apart at the finish",
            ),
            (
                "rhythm",
                beat.rhythm_percent,
                "the drawdown's own, no fault",
            ),
            ("waves", Some(beat.waves_percent), "slower than 10 picks"),
            (
                "scatter",
                Some(beat.scatter_percent),
                "what is left from pick to pick",
            ),
        ];
        for (name, part, note) in parts {
            list.extend(part.map(|part| measured(name, part, Kind::Percent).noted(note)));
        }
    }
}

/// Ends per inch of the finished cloth: the plan's ends over the measured width.
pub(super) fn ends_per_inch(measurement: &Measurement, plan: &Plan) -> Option<Quantity> {
    let width = measurement.width.as_ref()?.mean_mm;
    let value = f64::from(plan.ends) * MM_PER_INCH / width.value;
    Some(Quantity {
        value,
        u95: value * width.u95 / width.value,
    })
}

/// How warp and weft share the cloth, in words.
fn balance(ends: Quantity, picks: Quantity) -> String {
    let ratio = picks.value / ends.value;
    let doubt = ratio * (picks.u95 / picks.value).hypot(ends.u95 / ends.value);
    if (ratio - 1.0).abs() <= doubt {
        "as many ends as picks".to_owned()
    } else if ratio > 1.0 {
        format!("{ratio:.2} picks to an end")
    } else {
        format!("{:.2} ends to a pick", 1.0 / ratio)
    }
}

/// The weaver's words for a figure that is held against the plan.
pub(super) fn plan_name(what: &str) -> &str {
    match what {
        "draw_in" => "draw-in",
        "beat" => "beat, worst place",
        "hand_count" => "your own count",
        "waviness_left" => "left selvedge, Wq",
        "waviness_right" => "right selvedge, Wq",
        other => other,
    }
}

/// A figure of the plan in the shown unit; a limit is said to be one.
pub(super) fn planned_value(what: &str, planned: f64, unit: &str, units: Units) -> String {
    let (factor, unit) = Kind::of(what, unit).map_or((1.0, unit), |kind| kind.shown_as(units));
    let limit = match what {
        "beat" => "\u{b1}",
        _ if what.starts_with("waviness") => "at most ",
        _ => "",
    };
    format!("{limit}{} {unit}", plain(planned * factor))
}

/// The weaver's words for a kind of finding.
pub(super) fn finding_name(finding: &Finding) -> String {
    let kind = match finding.kind {
        FindingKind::LooseStretch => "loose stretch",
        FindingKind::TightStretch => "tight stretch",
        FindingKind::Drift => "drift",
        FindingKind::EdgePull => "selvedge pulled in",
        FindingKind::EdgeLoop => "selvedge stands out",
        FindingKind::Taper => "taper",
        FindingKind::MisWoven => "mis-woven",
        FindingKind::RowOrder => "row order",
    };
    match finding.side {
        Some(crate::measurement::Side::Left) => format!("left {kind}"),
        Some(crate::measurement::Side::Right) => format!("right {kind}"),
        None => kind.to_owned(),
    }
}

/// Where a finding lies, for a finger on the band: pick numbers, then both units.
pub(super) fn finding_place(finding: &Finding, measurement: &Measurement) -> String {
    let along = |units| stretch(finding.from_mm, finding.to_mm, units);
    let (inches, centimetres) = (along(LengthUnits::Inches), along(LengthUnits::Centimetres));
    let along = format!("{inches} ({centimetres}) from the start");
    match picks_within(finding, measurement) {
        Some((first, last)) if first == last => format!("pick {first}, {along}"),
        Some((first, last)) => format!("picks {first} to {last}, {along}"),
        None => along,
    }
}

/// First and last pick (from 1) that a finding concerns.
pub(super) fn picks_within(finding: &Finding, measurement: &Measurement) -> Option<(u32, u32)> {
    let positions = &measurement.picks.as_ref()?.positions_mm;
    let number = |index: usize| u32::try_from(index + 1).ok();
    let inside = |&(_, at): &(usize, &f64)| (finding.from_mm..=finding.to_mm).contains(at);
    let first = positions
        .iter()
        .enumerate()
        .find(inside)
        .and_then(|(i, _)| number(i));
    let last = positions
        .iter()
        .enumerate()
        .rev()
        .find(|item| inside(item))
        .and_then(|(i, _)| number(i));
    match (finding.pick, first, last) {
        (Some(pick), _, _) if finding.kind == FindingKind::MisWoven => Some((pick, pick)),
        (_, Some(first), Some(last)) => Some((first, last)),
        (Some(pick), _, _) => Some((pick, pick)),
        _ => None,
    }
}
