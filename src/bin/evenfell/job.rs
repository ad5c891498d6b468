//! What was asked for, once it is checked: made of the library's own options.

use std::path::PathBuf;

use evenfell::Error;
use evenfell::band::StartEnd;
use evenfell::corrections::{Corrections, parse_body, read_corrections};
use evenfell::hand_count::HandCountRequest;
use evenfell::measure::{Extent, Options};
use evenfell::plan::{self, LengthUnits};
use evenfell::scale::{ScaleOptions, check_bar};

use crate::args::{Format, MeasureArgs, Start, State, Units};
use crate::one::Setting;

/// A checked `measure`.
#[derive(Debug)]
pub(crate) struct MeasureJob {
    pub(crate) photos: Vec<PathBuf>,
    pub(crate) setting: Setting,
    pub(crate) units: Option<LengthUnits>,
    pub(crate) format: Format,
    pub(crate) out: Option<PathBuf>,
    pub(crate) stages: Option<PathBuf>,
    pub(crate) check: bool,
}

impl MeasureArgs {
    /// Checks what was typed; the message is for the person who typed it.
    pub(crate) fn into_job(self) -> Result<MeasureJob, Error> {
        Ok(MeasureJob {
            setting: Setting {
                scale: self.scale.parse()?,
                scale_options: scale_options(self.print_bar.as_deref())?,
                plan: self.plan.as_deref().map(plan::read).transpose()?,
                options: Options {
                    start: self.start.map(StartEnd::from),
                    corrections: self.put_right()?,
                    extent: extent(self.part),
                    hand_count: self.hand_count()?,
                    swatch: self.swatch.as_deref().map(str::parse).transpose()?,
                    ..Options::default()
                },
                asked: asked(
                    &self.scale,
                    (self.print_bar.as_deref(), self.hand_count.as_deref()),
                    self.state,
                ),
                figures_alone: self.out.is_none(),
            },
            photos: self.photos,
            units: self.units.map(LengthUnits::from),
            format: self.format,
            out: self.out,
            stages: self.stages,
            check: self.check,
        })
    }

    /// What a person put right, with `--body` and `--corrections`.
    fn put_right(&self) -> Result<Corrections, Error> {
        let refuse = |what: &str, why: &str| Error::Request {
            what: what.to_owned(),
            why: why.to_owned(),
        };
        let read = self.corrections.as_deref().map(read_corrections);
        let mut corrections = read.transpose()?.unwrap_or_default();
        if let Some(body) = self.body.as_deref().map(parse_body).transpose()? {
            if !corrections.body.is_empty() {
                let why =
                    "the file of corrections says too where the body lies: leave one of them out";
                return Err(refuse("--body", why));
            }
            corrections.body = body;
        }
        if corrections.start.is_some() && self.start.is_some() {
            let why =
                "the file of corrections says too which end is the start: leave one of them out";
            return Err(refuse("--start", why));
        }
        if !corrections.is_empty() && self.photos.len() > 1 {
            let what = if self.body.is_some() {
                "--body"
            } else {
                "--corrections"
            };
            return Err(refuse(
                what,
                "speaks of one band: measure one photo at a time with it",
            ));
        }
        Ok(corrections)
    }

    /// The weaver's own count, which speaks of one band.
    fn hand_count(&self) -> Result<Option<HandCountRequest>, Error> {
        let count = self.hand_count.as_deref().map(str::parse).transpose()?;
        if count.is_some() && self.photos.len() > 1 {
            return Err(Error::Request {
                what: "--hand-count".to_owned(),
                why: "speaks of one band: measure one photo at a time with it".to_owned(),
            });
        }
        Ok(count)
    }
}

/// What was typed, as it stands in the result.
pub(crate) fn asked(
    scale: &str,
    (print_bar, hand_count): (Option<&str>, Option<&str>),
    state: Option<State>,
) -> Vec<(&'static str, String)> {
    let words = [
        ("scale", Some(scale)),
        ("print_bar", print_bar),
        ("hand_count", hand_count),
        ("state", state.map(State::name)),
    ];
    let said = words
        .into_iter()
        .filter_map(|(name, word)| Some((name, word?.to_owned())));
    said.collect()
}

/// What of a band the photo shows.
pub(crate) fn extent(part: bool) -> Extent {
    if part { Extent::Part } else { Extent::Whole }
}

/// How the scale is read, with what the check bar measures.
pub(crate) fn scale_options(print_bar: Option<&str>) -> Result<ScaleOptions, Error> {
    let print_bar = print_bar.map(check_bar).transpose()?;
    Ok(ScaleOptions {
        print_bar,
        ..ScaleOptions::default()
    })
}

impl State {
    /// The state as it stands in a result.
    pub(crate) fn name(self) -> &'static str {
        match self {
            Self::InLoom => "in-loom",
            Self::OffLoom => "off-loom",
            Self::Washed => "washed",
        }
    }
}

impl From<Start> for StartEnd {
    fn from(start: Start) -> Self {
        match start {
            Start::Left => Self::Left,
            Start::Right => Self::Right,
            Start::Top => Self::Top,
            Start::Bottom => Self::Bottom,
        }
    }
}

impl From<Units> for LengthUnits {
    fn from(units: Units) -> Self {
        match units {
            Units::In => Self::Inches,
            Units::Cm => Self::Centimetres,
        }
    }
}
