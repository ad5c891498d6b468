//! From a plan file to a [`Plan`], or to every mistake in it.
//!
//! # Method
//! 1. A file above [`MOST_BYTES`] is refused unread; nesting is limited by the JSON reader.
//! 2. The JSON becomes a tree that keeps doubled keys.
//! 3. Each group is read key by key; every mistake is noted with its place, and reading goes on,
//!    so that all of them are said at once.
//! 4. What only shows when values meet (a sett no loom makes, a body of no pick) comes last.

use std::path::Path;

use super::contents::{Plan, Shrinkage, Tolerance, Warp, Weft};
use super::node::Node;
use super::section::{LengthRange, Mistakes, Section};
use super::{MOST_ENDS, MOST_PER_INCH, drawdown};
use crate::files::read_at_most;
use crate::units::{LengthUnits, MM_PER_INCH, parse_density, rounded};
use crate::{Error, Result};

/// Largest plan file that is read, bytes.
pub const MOST_BYTES: usize = 1 << 20;
/// Longest title, characters.
const LONGEST_TITLE: usize = 200;
/// How many mistakes are listed at once.
const LISTED: usize = 12;

const KEYS: [&str; 17] = [
    "title",
    "ends",
    "width_in_loom",
    "woven_length",
    "picks",
    "draw_in",
    "drawdown",
    "finish_on_row",
    "header_picks",
    "thickness",
    "warp",
    "weft",
    "hardware_width",
    "loom_room",
    "shrinkage",
    "tolerance",
    "$schema",
];
const WARP_KEYS: [&str; 6] = [
    "yarn",
    "strands",
    "take_up",
    "loom_waste",
    "fringe",
    "diameter",
];
const WEFT_KEYS: [&str; 4] = ["yarn", "crimp", "working_length", "diameter"];
const SHRINKAGE_KEYS: [&str; 2] = ["length", "width"];
const TOLERANCE_KEYS: [&str; 4] = ["picks", "draw_in", "beat", "waviness"];

const WIDTH: LengthRange = LengthRange {
    what: "a width",
    most_mm: 10_000.0,
    zero: false,
};
const LENGTH: LengthRange = LengthRange {
    what: "a warp",
    most_mm: 1.0e6,
    zero: false,
};
const ALLOWANCE: LengthRange = LengthRange {
    what: "a fringe or waste",
    most_mm: 1.0e5,
    zero: true,
};
const THICKNESS: LengthRange = LengthRange {
    what: "a thickness",
    most_mm: 100.0,
    zero: false,
};

/// Reads the plan file at `path`.
///
/// # Errors
///
/// [`Error::File`] where it can't be read, [`Error::Plan`] where it can't be understood.
pub fn read(path: &Path) -> Result<Plan> {
    Plan::from_json(&read_text(path)?)
}

fn read_text(path: &Path) -> Result<String> {
    let bytes = read_at_most(path, MOST_BYTES as u64 + 1)?;
    String::from_utf8(bytes).map_err(|_| Error::Plan {
        place: path.display().to_string(),
        why: "is no text: a plan is a JSON file in UTF-8".to_owned(),
    })
}

impl Plan {
    /// Reads a plan from its JSON text.
    ///
    /// ```
    /// let plan = evenfell::plan::Plan::from_json(
    ///     r#"{ "ends": 11, "width_in_loom": "1 3/4 in", "woven_length": "9 in",
    ///          "picks": "10 per inch", "drawdown": ["o1 u1", "u1 o1"] }"#,
    /// )?;
    /// assert!((plan.width_in_loom_mm - 44.45).abs() < 1e-9);
    /// # Ok::<(), evenfell::Error>(())
    /// ```
    ///
    /// # Errors
    ///
    /// [`Error::Plan`] with the place of the first mistake; further mistakes follow in its text,
    /// one a line.
    pub fn from_json(text: &str) -> Result<Self> {
        let mut mistakes = Mistakes::default();
        let plan = parse(text, &mut mistakes);
        match plan {
            Some(plan) if mistakes.0.is_empty() => Ok(plan),
            _ => Err(all_of(mistakes)),
        }
    }
}

fn all_of(mistakes: Mistakes) -> Error {
    let count = mistakes.0.len();
    let mut mistakes = mistakes.0.into_iter();
    let Some(first) = mistakes.next() else {
        // A plan fails only with a mistake noted; the sentence keeps the type honest.
        return Error::Plan {
            place: "the file".to_owned(),
            why: "can't be read".to_owned(),
        };
    };
    let mut why = first.why;
    for next in mistakes.take(LISTED - 1) {
        why.push_str(&format!("\nplan: {}: {}", next.place, next.why));
    }
    if count > LISTED {
        why.push_str(&format!("\nplan: and {} more", count - LISTED));
    }
    Error::Plan {
        place: first.place,
        why,
    }
}

fn parse(text: &str, mistakes: &mut Mistakes) -> Option<Plan> {
    if text.len() > MOST_BYTES {
        mistakes.add("the file", "is larger than 1 MiB, which no plan is");
        return None;
    }
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let entries = match serde_json::from_str::<Node>(text) {
        Ok(Node::Object(entries)) => entries,
        Ok(other) => {
            mistakes.add(
                "the file",
                format!("is {}: a plan is a group in braces, {{ … }}", other.what()),
            );
            return None;
        }
        Err(error) => {
            mistakes.add(
                format!("line {}, column {}", error.line(), error.column()),
                format!("isn't JSON: {error}"),
            );
            return None;
        }
    };
    let section = Section::open("", &entries, &KEYS, mistakes);
    let plan = whole_plan(&section, mistakes)?;
    check_together(&plan, mistakes);
    Some(plan)
}

fn whole_plan(section: &Section<'_>, mistakes: &mut Mistakes) -> Option<Plan> {
    section.require("ends", "11", mistakes);
    section.require("width_in_loom", "\"1 3/4 in\"", mistakes);
    section.require("woven_length", "\"9 in\"", mistakes);
    section.require("picks", "\"10 per inch\"", mistakes);
    let title = title(section, mistakes);
    let ends = section.count("ends", (1, MOST_ENDS), mistakes);
    let width = section.length("width_in_loom", "\"1 3/4 in\"", WIDTH, mistakes);
    let length = section.length("woven_length", "\"9 in\"", LENGTH, mistakes);
    let picks = picks(section, mistakes);
    let draw_in = section.share("draw_in", 1.0, mistakes);
    let drawdown = section
        .get("drawdown")
        .and_then(|node| drawdown::read(node, ends, mistakes));
    let finish_on_row = finish_on_row(section, drawdown.as_ref(), mistakes);
    let header_picks = section.count("header_picks", (0, 10_000), mistakes);
    let thickness_mm = section.length("thickness", "\"2 mm\"", THICKNESS, mistakes);
    let warp = warp(section, mistakes);
    let weft = weft(section, mistakes);
    let hardware_width_mm = section.length("hardware_width", "\"1 1/2 in\"", WIDTH, mistakes);
    let loom_room_mm = section.length("loom_room", "\"2 in\"", ALLOWANCE, mistakes);
    let shrinkage = shrinkage(section, mistakes);
    let tolerance = tolerance(section, mistakes);
    let (picks_per_inch, picks_units) = picks?;
    let units = section.units("width_in_loom").unwrap_or_default();
    Some(Plan {
        title,
        picks_units,
        draw_in,
        drawdown,
        finish_on_row,
        header_picks,
        thickness_mm,
        warp,
        weft,
        hardware_width_mm,
        loom_room_mm,
        shrinkage,
        tolerance,
        units,
        ..Plan::new(ends?, width?, length?, picks_per_inch)
    })
}

fn title(section: &Section<'_>, mistakes: &mut Mistakes) -> String {
    let Some(text) = section.text("title", "\"Ferry-quay lamp pull\"", mistakes) else {
        return String::new();
    };
    if text.chars().count() > LONGEST_TITLE {
        mistakes.add(
            "title",
            format!("is longer than {LONGEST_TITLE} characters: shorten it"),
        );
    }
    if text.chars().any(char::is_control) {
        mistakes.add(
            "title",
            "has a line break, tab or other control character: leave it out",
        );
    }
    text.to_owned()
}

fn picks(section: &Section<'_>, mistakes: &mut Mistakes) -> Option<(f64, LengthUnits)> {
    let text = section.text("picks", "\"10 per inch\"", mistakes)?;
    let why = match parse_density(text) {
        Err(why) => why,
        Ok(density) if density.per_inch <= 0.0 => "is nothing: a band has picks".to_owned(),
        Ok(density) if density.per_inch > MOST_PER_INCH => format!(
            "is {} per inch, which no loom makes: {MOST_PER_INCH} per inch is the most",
            rounded(density.per_inch, 1)
        ),
        Ok(density) => return Some((density.per_inch, density.units)),
    };
    mistakes.add("picks", why);
    None
}

fn finish_on_row(
    section: &Section<'_>,
    drawdown: Option<&super::Drawdown>,
    mistakes: &mut Mistakes,
) -> Option<u32> {
    if section.get("finish_on_row").is_some() && section.get("drawdown").is_none() {
        mistakes.add(
            "finish_on_row",
            "needs a drawdown, whose row it is: add one, or leave it out",
        );
        return None;
    }
    let rows = drawdown.map_or(drawdown::MOST_ROWS, super::Drawdown::rows);
    let most = u32::try_from(rows).unwrap_or(u32::MAX);
    section.count("finish_on_row", (1, most), mistakes)
}

fn warp(section: &Section<'_>, mistakes: &mut Mistakes) -> Warp {
    let Some(entries) = section.group("warp", mistakes) else {
        return Warp::default();
    };
    let warp = Section::open("warp", entries, &WARP_KEYS, mistakes);
    Warp {
        yarn: warp.yarn("yarn", mistakes),
        strands: warp.count("strands", (1, 1000), mistakes).unwrap_or(1),
        take_up: warp.share("take_up", 1.0, mistakes),
        loom_waste_mm: warp
            .length("loom_waste", "\"8 in\"", ALLOWANCE, mistakes)
            .unwrap_or(0.0),
        fringe_mm: warp
            .length("fringe", "\"2 in\"", ALLOWANCE, mistakes)
            .unwrap_or(0.0),
        diameter_mm: warp.length("diameter", "\"0.8 mm\"", THICKNESS, mistakes),
    }
}

fn weft(section: &Section<'_>, mistakes: &mut Mistakes) -> Weft {
    let Some(entries) = section.group("weft", mistakes) else {
        return Weft::default();
    };
    let weft = Section::open("weft", entries, &WEFT_KEYS, mistakes);
    Weft {
        yarn: weft.yarn("yarn", mistakes),
        crimp: weft.share("crimp", 5.0, mistakes),
        working_length_mm: weft.length("working_length", "\"3 yd\"", LENGTH, mistakes),
        diameter_mm: weft.length("diameter", "\"1.5 mm\"", THICKNESS, mistakes),
    }
}

fn shrinkage(section: &Section<'_>, mistakes: &mut Mistakes) -> Shrinkage {
    let Some(entries) = section.group("shrinkage", mistakes) else {
        return Shrinkage::default();
    };
    let shrinkage = Section::open("shrinkage", entries, &SHRINKAGE_KEYS, mistakes);
    Shrinkage {
        length: shrinkage.share("length", 1.0, mistakes),
        width: shrinkage.share("width", 1.0, mistakes),
    }
}

fn tolerance(section: &Section<'_>, mistakes: &mut Mistakes) -> Tolerance {
    let usual = Tolerance::default();
    let Some(entries) = section.group("tolerance", mistakes) else {
        return usual;
    };
    let tolerance = Section::open("tolerance", entries, &TOLERANCE_KEYS, mistakes);
    let mut share = |key: &str, usual: f64| match tolerance.share(key, 1.0, mistakes) {
        Some(share) if share <= 0.0 => {
            mistakes.add(
                tolerance.place(key),
                "is 0 %: nothing woven would pass; allow a little",
            );
            usual
        }
        share => share.unwrap_or(usual),
    };
    Tolerance {
        picks: share("picks", usual.picks),
        draw_in: share("draw_in", usual.draw_in),
        beat: share("beat", usual.beat),
        waviness_mm: tolerance
            .length("waviness", "\"0.5 mm\"", THICKNESS, mistakes)
            .unwrap_or(usual.waviness_mm),
    }
}

/// What only shows when values meet.
fn check_together(plan: &Plan, mistakes: &mut Mistakes) {
    let per_inch = f64::from(plan.ends) / plan.width_in_loom_mm * MM_PER_INCH;
    if per_inch > MOST_PER_INCH {
        mistakes.add(
            "ends",
            format!(
                "{} ends in that width are {} per inch, which no loom makes: {MOST_PER_INCH} per \
                 inch is the most",
                plan.ends,
                rounded(per_inch, 0)
            ),
        );
    }
    if plan.picks_per_inch * plan.woven_length_mm / MM_PER_INCH < 0.5 {
        mistakes.add(
            "woven_length",
            "is too short for a single pick at that many picks",
        );
    }
}

/// The keys of the plan, the warp, the weft, the shrinkage and the tolerance.
#[cfg(test)]
pub(crate) fn keys() -> [&'static [&'static str]; 5] {
    [
        &KEYS,
        &WARP_KEYS,
        &WEFT_KEYS,
        &SHRINKAGE_KEYS,
        &TOLERANCE_KEYS,
    ]
}

#[cfg(test)]
mod tests;
