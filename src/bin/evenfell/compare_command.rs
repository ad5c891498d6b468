//! `compare`: several bands side by side, from results or straight from photos.

use std::io::{Write, stdout};
use std::path::{Path, PathBuf};

use clap::Args;
use evenfell::Error;
use evenfell::band::StartEnd;
use evenfell::compare::{
    CompareOptions, Comparison, NotCompared, Sample, compare, comparison_text, write_comparison_csv,
};
use evenfell::measure::Options;
use evenfell::measurement::Measurement;
use evenfell::photo::{self, PhotoOptions};
use evenfell::plan::{self, LengthUnits, Plan};
use evenfell::report::{wrap_text, write_json_line, write_json_pretty};

use crate::args::{Format, Start, Units};
use crate::batch::terminal_width;
use crate::exit::{Outcome, Stop};
use crate::given::{is_result, results_in};
use crate::one::{Setting, measure_one};
use crate::outputs::Folder;
use crate::progress::Progress;

/// What `compare` was asked.
#[derive(Debug, Args)]
pub(crate) struct CompareArgs {
    /// Results (measurement.json, or the folder it is in) or photos of bands
    #[arg(required = true, value_name = "RESULT-OR-PHOTO")]
    pub(crate) given: Vec<PathBuf>,
    /// The plan that the bands were woven to [default: what each result was held against]
    #[arg(long, value_name = "PLAN")]
    pub(crate) plan: Option<PathBuf>,
    /// Where the scale of photos comes from, as for measure
    #[arg(long, value_name = "SCALE", default_value = "auto")]
    pub(crate) scale: String,
    /// Which end of the band in the photos was woven first
    #[arg(long, value_enum, value_name = "END")]
    pub(crate) start: Option<Start>,
    /// The bands are one weaver's, oldest first: say what changed
    #[arg(long, conflicts_with = "same_band")]
    pub(crate) in_order: bool,
    /// All photos show one band: say what the photo alone makes, or what changed between states
    #[arg(long)]
    pub(crate) same_band: bool,
    /// Write comparison.json and comparison.csv here
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// Units of the text [default: the plan's own, else cm]
    #[arg(long, value_enum)]
    pub(crate) units: Option<Units>,
    /// Form of the result on standard output
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub(crate) format: Format,
}

/// Compares and prints.
pub(crate) fn run(args: &CompareArgs) -> Result<Outcome, Stop> {
    let plan = args.plan.as_deref().map(plan::read).transpose()?;
    let setting = Setting {
        scale: args.scale.parse()?,
        plan: plan.clone(),
        options: Options {
            start: args.start.map(StartEnd::from),
            ..Options::default()
        },
        asked: vec![("scale", args.scale.clone())],
        ..Setting::default()
    };
    let mut taken = Taken::default();
    let progress = Progress::new(args.given.len());
    for (index, path) in args.given.iter().enumerate() {
        progress.at(index + 1, path);
        let measurements = measurements_of(path, &setting);
        progress.clear();
        taken.take(path, measurements, plan.as_ref());
    }
    let options = CompareOptions {
        in_order: args.in_order,
        same_band: args.same_band,
    };
    let mut comparison = match compare(&taken.samples, options) {
        Ok(comparison) => comparison,
        // Why there are too few was said for each of them.
        Err(_) if taken.worst != Outcome::Done && taken.samples.len() < 2 => {
            return Ok(taken.worst);
        }
        Err(error) => return Err(error.into()),
    };
    comparison.not_compared.extend(taken.failed);
    let units = args
        .units
        .map(LengthUnits::from)
        .or(plan.map(|plan| plan.units));
    if let Some(dir) = &args.out {
        write_files(dir, &comparison)?;
    }
    print(&comparison, args.format, units.unwrap_or_default())?;
    Ok(taken.worst)
}

/// What was taken from the files given, and what couldn't be.
#[derive(Debug)]
struct Taken {
    samples: Vec<Sample>,
    failed: Vec<NotCompared>,
    worst: Outcome,
}

impl Default for Taken {
    fn default() -> Self {
        Self {
            samples: Vec::new(),
            failed: Vec::new(),
            worst: Outcome::Done,
        }
    }
}

impl Taken {
    fn take(&mut self, path: &Path, found: Result<Vec<Measurement>, Error>, plan: Option<&Plan>) {
        match found {
            Ok(found) => self
                .samples
                .extend(found.into_iter().map(|measurement| Sample {
                    name: stem(&measurement.photo.file),
                    measurement,
                    plan: plan.cloned(),
                })),
            Err(error) => {
                let name = path
                    .file_name()
                    .unwrap_or_default()
                    .to_string_lossy()
                    .into_owned();
                let why = error.to_string();
                if why.contains(&name) {
                    eprintln!("evenfell: {why}");
                } else {
                    eprintln!("evenfell: {name}: {why}");
                }
                self.failed.push(NotCompared { what: name, why });
                self.worst = self.worst.max(Outcome::from(&error));
            }
        }
    }
}

/// A photo's name without its ending.
fn stem(file: &str) -> String {
    Path::new(file).file_stem().map_or_else(
        || file.to_owned(),
        |stem| stem.to_string_lossy().into_owned(),
    )
}

fn measurements_of(path: &Path, setting: &Setting) -> Result<Vec<Measurement>, Error> {
    if is_result(path) {
        return results_in(path);
    }
    let photo = photo::open(path, &PhotoOptions::default())?;
    Ok(vec![measure_one(photo, setting, None)?.measurement])
}

/// Refuses a folder that holds the comparison of other bands.
fn keep_other_classes(dir: &Path, comparison: &Comparison) -> Result<(), Error> {
    let Ok(text) = std::fs::read(dir.join("comparison.json")) else {
        return Ok(());
    };
    let names = |comparison: &Comparison| -> Vec<String> {
        comparison
            .samples
            .iter()
            .map(|sample| sample.name.clone())
            .collect()
    };
    match serde_json::from_slice::<Comparison>(&text) {
        Ok(old) if names(&old) == names(comparison) => Ok(()),
        _ => Err(Error::Request {
            what: format!("--out {}", dir.display()),
            why: "it holds the comparison of other bands: choose another folder or move it away"
                .to_owned(),
        }),
    }
}

fn write_files(dir: &Path, comparison: &Comparison) -> Result<(), Error> {
    keep_other_classes(dir, comparison)?;
    let mut folder = Folder::new(dir)?;
    folder.add("comparison.csv", |out| {
        write_comparison_csv(comparison, out)
    })?;
    folder.add("comparison.json", |mut out| {
        write_json_pretty(comparison, &mut out)
    })?;
    folder.publish()
}

fn print(comparison: &Comparison, format: Format, units: LengthUnits) -> Result<(), Stop> {
    let mut out = stdout().lock();
    match format {
        Format::Json => write_json_line(comparison, &mut out)?,
        Format::Csv => write_comparison_csv(comparison, &mut out)?,
        Format::Text => {
            let text = wrap_text(&comparison_text(comparison, units), terminal_width());
            out.write_all(text.as_bytes())?;
        }
    }
    out.flush()?;
    Ok(())
}
