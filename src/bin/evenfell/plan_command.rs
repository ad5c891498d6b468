//! `plan`: what a plan works out to, or a plan to start from.

use std::io::{ErrorKind, Write, stdout};
use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use evenfell::Error;
use evenfell::plan::{self, Plan, STARTER_PLAN, plan_text, work_out};
use evenfell::report::{caution_in, write_json_line};

use crate::exit::{Outcome, Stop, say};
use crate::outputs::write_new;

/// What `plan` was asked.
#[derive(Debug, Args)]
pub(crate) struct PlanArgs {
    /// The plan (JSON)
    #[arg(required_unless_present = "new", conflicts_with = "new")]
    pub(crate) plan: Option<PathBuf>,
    /// Write a plan to start from into this new file
    #[arg(long, value_name = "FILE", conflicts_with = "format")]
    pub(crate) new: Option<PathBuf>,
    /// Form of the result on standard output
    #[arg(long, value_enum, default_value_t = PlainFormat::Text)]
    pub(crate) format: PlainFormat,
}

/// Form of a result that has no table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum PlainFormat {
    /// For reading
    Text,
    /// One object
    Json,
}

/// Works a plan out, or writes one to start from.
pub(crate) fn run(args: &PlanArgs) -> Result<Outcome, Stop> {
    match (&args.new, &args.plan) {
        (Some(new), _) => write_starter(new)?,
        (None, Some(path)) => show(&plan::read(path)?, args.format)?,
        (None, None) => {}
    }
    Ok(Outcome::Done)
}

fn show(plan: &Plan, format: PlainFormat) -> Result<(), Stop> {
    let worked = work_out(plan);
    let mut out = stdout().lock();
    match format {
        PlainFormat::Json => write_json_line(&worked, &mut out)?,
        PlainFormat::Text => {
            out.write_all(plan_text(plan, &worked).as_bytes())?;
            if let Some(caution) = caution_in(&plan.title) {
                writeln!(out, "\n{caution}")?;
            }
        }
    }
    out.flush()?;
    Ok(())
}

/// Writes the starter plan; a file that is there already stays as it is.
fn write_starter(path: &Path) -> Result<(), Stop> {
    match write_new(path, STARTER_PLAN.as_bytes()) {
        Err(Error::File { source, .. }) if source.kind() == ErrorKind::AlreadyExists => {
            return Err(Stop::Library(Error::Request {
                what: format!("--new {}", path.display()),
                why: "is there already: choose another name".to_owned(),
            }));
        }
        written => written?,
    }
    say(&format!(
        "{} is written: change it to your band, then see what it works out to with\n\
         evenfell plan {}",
        path.display(),
        path.display()
    ));
    Ok(())
}
