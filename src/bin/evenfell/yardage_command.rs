//! `yardage`: yarn for the next bands, as planned and as measured.

use std::io::{Write, stdout};
use std::path::PathBuf;

use clap::Args;
use evenfell::Error;
use evenfell::plan;
use evenfell::report::{wrap_text, write_json_line};
use evenfell::yarn::{Weighed, YardageOptions, yardage, yardage_text};

use crate::args::Units;
use crate::batch::terminal_width;
use crate::exit::{Outcome, Stop};
use crate::given::results_in;
use crate::plan_command::PlainFormat;

/// What `yardage` was asked.
#[derive(Debug, Args)]
pub(crate) struct YardageArgs {
    /// The plan (JSON)
    pub(crate) plan: PathBuf,
    /// Results of bands woven to it (measurement.json, or the folder it is in)
    #[arg(long, value_name = "RESULT", num_args = 1..)]
    pub(crate) measured: Vec<PathBuf>,
    /// Bands to come
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub(crate) bands: u32,
    /// What one finished band weighs, fringe on and headers off, such as "14.2 g"
    #[arg(long, value_name = "MASS")]
    pub(crate) weighed: Option<String>,
    /// Units of the text [default: the plan's own]
    #[arg(long, value_enum)]
    pub(crate) units: Option<Units>,
    /// Form of the result on standard output
    #[arg(long, value_enum, default_value_t = PlainFormat::Text)]
    pub(crate) format: PlainFormat,
}

/// Reckons the yarn and prints it.
pub(crate) fn run(args: &YardageArgs) -> Result<Outcome, Stop> {
    let plan = plan::read(&args.plan)?;
    let weighed = args.weighed.as_deref().map(weighed).transpose()?;
    let mut measured = Vec::new();
    for path in &args.measured {
        measured.extend(results_in(path)?);
    }
    let options = YardageOptions {
        bands: args.bands,
        weighed,
    };
    let yarn = yardage(&plan, &measured, &options)?;
    let mut out = stdout().lock();
    match args.format {
        PlainFormat::Json => write_json_line(&yarn, &mut out)?,
        PlainFormat::Text => {
            let units = args.units.map_or(plan.units, Into::into);
            let text = wrap_text(&yardage_text(&yarn, units), terminal_width());
            out.write_all(text.as_bytes())?;
        }
    }
    out.flush()?;
    Ok(Outcome::Done)
}

fn weighed(text: &str) -> Result<Weighed, Error> {
    Weighed::parse(text).map_err(|why| Error::Request {
        what: "--weighed".to_owned(),
        why,
    })
}
