//! `measure`: every photo by itself, several at once; one that fails doesn't stop the rest.

use std::io::{self, IsTerminal, Write, stdout};
use std::path::Path;

use evenfell::Error;
use evenfell::measurement::{Measurement, Verdict};
use evenfell::photo::{self, PhotoOptions};
use evenfell::report::{Context, CsvWriter, TextOptions, write_json_line, write_text};
use serde_json::json;

use crate::args::Format;
use crate::exit::{Outcome, Stop};
use crate::failures::{Failures, kept_apart};
use crate::in_order::in_order;
use crate::job::MeasureJob;
use crate::names::bare_name;
use crate::one::measure_one;
use crate::outputs::folder_names;
use crate::progress::Progress;
use crate::results::{keep_other_results, write_results};
use crate::unfinished::tidy_on_interrupt;

/// Measures every photo, prints and writes what came out, and says how it went.
pub(crate) fn run(job: &MeasureJob) -> Result<Outcome, Stop> {
    tidy_on_interrupt();
    let progress = Progress::new(job.photos.len());
    let mut printer = Printer::new(job)?;
    let mut worst = Outcome::Done;
    let mut failures = Failures::new(job.photos.len());
    let names = folder_names(&job.photos);
    progress.done(0);
    let work = |index: usize| {
        let path = &job.photos[index];
        kept_apart(&bare_name(path), || one(path, names[index].as_deref(), job))
    };
    in_order(
        job.photos.len(),
        work,
        |index, result| -> Result<(), Stop> {
            progress.clear();
            worst = worst.max(match result {
                Ok(shown) => {
                    printer.result(&shown)?;
                    shown.outcome
                }
                Err(error) => {
                    let name = bare_name(&job.photos[index]);
                    printer.failure(&name, &error)?;
                    failures.add(&name, &error);
                    Outcome::from(&error)
                }
            });
            progress.done(index + 1);
            Ok(())
        },
    )?;
    printer.end()?;
    failures.say();
    Ok(worst)
}

/// What is printed of a photo. Its pixels are gone by then.
#[derive(Debug)]
struct Shown {
    measurement: Measurement,
    verdict: Vec<String>,
    outcome: Outcome,
}

/// Measures one photo and writes its files; `name` is the photo's own folder, where it has one.
fn one(path: &Path, name: Option<&str>, job: &MeasureJob) -> Result<Shown, Error> {
    let own = |dir: &Path| name.map_or_else(|| dir.to_owned(), |name| dir.join(name));
    let out = job.out.as_deref().map(own);
    let stages = job.stages.as_deref().map(own);
    let photo = photo::open(path, &PhotoOptions::default())?;
    if let Some(out) = &out {
        keep_other_results(out, &photo.sha256)?;
    }
    let measured = measure_one(photo, &job.setting, stages.as_deref())?;
    if let Some(out) = &out {
        write_results(out, &measured, job.setting.plan.as_ref(), job.units)?;
    }
    Ok(Shown {
        outcome: outcome(&measured.measurement, job.check),
        measurement: measured.measurement,
        verdict: measured.verdict,
    })
}

/// What a measured band comes to.
fn outcome(measurement: &Measurement, check: bool) -> Outcome {
    let lines = &measurement.against_plan;
    if measurement.is_empty() {
        Outcome::Unmeasurable
    } else if check && lines.iter().any(|line| line.verdict == Verdict::Outside) {
        Outcome::OutsidePlan
    } else {
        Outcome::Done
    }
}

/// Standard output in the form that was asked for.
struct Printer<'a> {
    job: &'a MeasureJob,
    table: Option<CsvWriter<io::Stdout>>,
    printed: usize,
}

impl<'a> Printer<'a> {
    fn new(job: &'a MeasureJob) -> io::Result<Self> {
        let table = (job.format == Format::Csv)
            .then(|| CsvWriter::new(stdout(), job.photos.len() > 1))
            .transpose()?;
        Ok(Self {
            job,
            table,
            printed: 0,
        })
    }

    fn result(&mut self, shown: &Shown) -> io::Result<()> {
        let mut out = stdout().lock();
        match (&mut self.table, self.job.format) {
            (Some(table), _) => table.write(&shown.measurement)?,
            (None, Format::Json) => write_json_line(&shown.measurement, &mut out)?,
            (None, _) => {
                if self.printed > 0 {
                    writeln!(out)?;
                }
                let context = Context {
                    plan: self.job.setting.plan.as_ref(),
                    verdict: &shown.verdict,
                    units: self.job.units,
                };
                let options = TextOptions {
                    width: terminal_width(),
                };
                write_text(&shown.measurement, &context, options, &mut out)?;
            }
        }
        self.printed += 1;
        out.flush()
    }

    /// A photo that failed: an object on its line, in the form that has one.
    fn failure(&mut self, name: &str, error: &Error) -> io::Result<()> {
        if self.job.format == Format::Json {
            let mut out = stdout().lock();
            write_json_line(
                &json!({ "photo": name, "error": error.to_string() }),
                &mut out,
            )?;
            out.flush()?;
        }
        Ok(())
    }

    fn end(&mut self) -> io::Result<()> {
        stdout().flush()
    }
}

/// Characters a line of the terminal, 80 where there is none.
pub(crate) fn terminal_width() -> usize {
    if !stdout().is_terminal() {
        return TextOptions::default().width;
    }
    terminal_size::terminal_size().map_or(TextOptions::default().width, |(width, _)| {
        usize::from(width.0).min(WIDEST)
    })
}

/// Lines longer than this are hard to read.
const WIDEST: usize = 110;
