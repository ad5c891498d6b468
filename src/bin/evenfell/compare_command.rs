//! `compare`: several bands side by side, from results or straight from photos.

use std::io::{Write, stdout};
use std::path::{Path, PathBuf};

use clap::Args;
use evenfell::Error;
use evenfell::band::StartEnd;
use evenfell::compare::{
    CompareOptions, Comparison, Names, NotCompared, Sample, compare, comparison_text,
    write_comparison_csv,
};
use evenfell::files::read_at_most;
use evenfell::measure::Options;
use evenfell::measurement::{MOST_RESULT_BYTES, Measurement};
use evenfell::photo::{self, PhotoOptions};
use evenfell::plan::{self, LengthUnits, Plan};
use evenfell::report::{
    BandPicture, ClassBand, wrap_text, write_class_html, write_json_line, write_json_pretty,
};

use crate::args::{Format, Start, Units};
use crate::batch::terminal_width;
use crate::exit::{Outcome, Stop};
use crate::failures::{Failures, kept_apart};
use crate::given::{is_result, picture_beside, results_in};
use crate::in_order::in_order;
use crate::names::{bare_name, stem};
use crate::one::{Setting, measure_one};
use crate::outputs::Folder;
use crate::progress::Progress;
use crate::unfinished::tidy_on_interrupt;

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
    /// Names for the bands: lines of photo,name (the photo's file name with or without its ending)
    /// [default: the photo's name]
    #[arg(long, value_name = "FILE")]
    pub(crate) names: Option<PathBuf>,
    /// Write report.html (with a half page for each weaver), comparison.json and comparison.csv here
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
    let names = args.names.as_deref().map(read_names).transpose()?;
    let setting = Setting {
        scale: args.scale.parse()?,
        plan: plan.clone(),
        options: Options {
            start: args.start.map(StartEnd::from),
            ..Options::default()
        },
        asked: vec![("scale", args.scale.clone())],
        figures_alone: args.out.is_none(),
        ..Setting::default()
    };
    if let Some(dir) = &args.out {
        keep_other_files(dir)?;
    }
    tidy_on_interrupt();
    let mut taken = Taken::new(args.given.len());
    let progress = Progress::new(args.given.len());
    progress.done(0);
    let work = |index: usize| {
        let path = &args.given[index];
        kept_apart(&bare_name(path), || {
            found_in(path, &setting, args.out.is_some())
        })
    };
    in_order(args.given.len(), work, |index, found| -> Result<(), Stop> {
        taken.take(&args.given[index], found, plan.as_ref());
        progress.done(index + 1);
        Ok(())
    })?;
    progress.clear();
    taken.failures.say();
    if let Some(names) = names {
        names.give(&mut taken.samples)?;
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
    comparison.not_compared.append(&mut taken.failed);
    let units = args.units.map(LengthUnits::from);
    let units = units.or(plan.map(|plan| plan.units)).unwrap_or_default();
    let written = args
        .out
        .as_deref()
        .map_or(Ok(()), |dir| write_files(dir, &comparison, &taken, units));
    // What was compared is said also where it couldn't be written.
    print(&comparison, args.format, units)?;
    written?;
    Ok(taken.worst)
}

/// What was taken from the files given, and what couldn't be.
#[derive(Debug)]
struct Taken {
    samples: Vec<Sample>,
    /// A picture for each sample, where there is one.
    pictures: Vec<Option<BandPicture>>,
    failed: Vec<NotCompared>,
    failures: Failures,
    worst: Outcome,
}

impl Taken {
    /// Nothing yet, of so many files.
    fn new(given: usize) -> Self {
        Self {
            samples: Vec::new(),
            pictures: Vec::new(),
            failed: Vec::new(),
            failures: Failures::new(given),
            worst: Outcome::Done,
        }
    }

    fn take(&mut self, path: &Path, found: Result<Vec<Found>, Error>, plan: Option<&Plan>) {
        match found {
            Ok(found) => {
                for (measurement, picture) in found {
                    self.samples.push(Sample {
                        name: stem(&measurement.photo.file).to_owned(),
                        measurement,
                        plan: plan.cloned(),
                    });
                    self.pictures.push(picture);
                }
            }
            Err(error) => {
                let (what, why) = (bare_name(path), error.to_string());
                self.failures.add(&what, &error);
                self.failed.push(NotCompared { what, why });
                self.worst = self.worst.max(Outcome::from(&error));
            }
        }
    }
}

/// A result with the band's picture, where there is one.
type Found = (Measurement, Option<BandPicture>);

/// What a file gives: the results in it, or what its photo shows; with its picture, where one is wanted.
fn found_in(path: &Path, setting: &Setting, pictured: bool) -> Result<Vec<Found>, Error> {
    if is_result(path) {
        let mut results: Vec<Found> = results_in(path)?.into_iter().map(|m| (m, None)).collect();
        if let [(_, picture)] = results.as_mut_slice() {
            *picture = pictured.then(|| picture_beside(path)).flatten();
        }
        return Ok(results);
    }
    let photo = photo::open(path, &PhotoOptions::default())?;
    let measured = measure_one(photo, setting, None)?;
    let picture = || BandPicture::new(&measured.overlay.strip, &measured.measurement);
    let picture = pictured.then(picture).flatten();
    Ok(vec![(measured.measurement, picture)])
}

/// Far above the longest list of a class, bytes.
const MOST_NAMES_BYTES: u64 = 1 << 20;

/// The list of names in a file.
fn read_names(path: &Path) -> Result<Names, Error> {
    let bytes = read_at_most(path, MOST_NAMES_BYTES)?;
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let text = String::from_utf8(bytes).map_err(|_| Error::Request {
        what: name.clone().into_owned(),
        why: "is no text in UTF-8: save it as one line a band, photo,name".to_owned(),
    })?;
    Names::from_csv(&name, &text)
}

/// The files of a comparison, the result itself last.
const NAMES: [&str; 3] = ["report.html", "comparison.csv", "comparison.json"];

/// Refuses a folder that holds files of these names that aren't a comparison's, before anything is
/// measured.
fn keep_other_files(dir: &Path) -> Result<(), Error> {
    if dir.join("comparison.json").exists() {
        return Ok(());
    }
    match NAMES.iter().find(|name| dir.join(name).exists()) {
        None => Ok(()),
        Some(name) => Err(refused(
            dir,
            &format!("there is a {name} that is no comparison's"),
        )),
    }
}

/// Refuses a folder that holds the comparison of other bands.
fn keep_other_classes(dir: &Path, comparison: &Comparison) -> Result<(), Error> {
    keep_other_files(dir)?;
    let Ok(text) = read_at_most(&dir.join("comparison.json"), MOST_RESULT_BYTES) else {
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
        _ => Err(refused(dir, "it holds the comparison of other bands")),
    }
}

/// Why a folder isn't written to, and what to do.
fn refused(dir: &Path, why: &str) -> Error {
    Error::Request {
        what: format!("--out {}", dir.display()),
        why: format!("{why}: choose another folder or move it away"),
    }
}

fn write_files(
    dir: &Path,
    comparison: &Comparison,
    taken: &Taken,
    units: LengthUnits,
) -> Result<(), Error> {
    keep_other_classes(dir, comparison)?;
    let mut folder = Folder::new(dir)?;
    let bands: Vec<ClassBand<'_>> = taken
        .samples
        .iter()
        .zip(&taken.pictures)
        .map(|(sample, picture)| ClassBand {
            measurement: &sample.measurement,
            plan: sample.plan.as_ref(),
            picture: picture.as_ref(),
        })
        .collect();
    folder.add("report.html", |mut out| {
        write_class_html(comparison, &bands, units, &mut out)
    })?;
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
