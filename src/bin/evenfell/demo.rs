//! `demo`: the built-in sample band, measured against its plan.

use std::io::{Write, stdout};
use std::path::PathBuf;

use clap::Args;
use evenfell::photo::{self, PhotoOptions};
use evenfell::plan::{LengthUnits, Plan};
use evenfell::report::{Context, TextOptions, write_text};
use evenfell::scale::ScaleRequest;

use crate::args::Units;
use crate::batch::terminal_width;
use crate::exit::{Outcome, Stop};
use crate::one::{Setting, measure_one};
use crate::results::{keep_other_results, write_results};
use crate::unfinished::tidy_on_interrupt;

/// The sample band's scan.
pub(crate) const SCAN: &[u8] = include_bytes!("../../../testdata/demo/lamp_pull.jpg");
/// Its plan.
pub(crate) const PLAN: &str = include_str!("../../../testdata/demo/lamp_pull.plan.json");

/// What `demo` was asked.
#[derive(Debug, Args)]
pub(crate) struct DemoArgs {
    /// Where the report goes
    #[arg(long, value_name = "DIR", default_value = "evenfell-demo")]
    pub(crate) out: PathBuf,
    /// Units of the text [default: the plan's own]
    #[arg(long, value_enum)]
    pub(crate) units: Option<Units>,
}

/// Measures the sample band, prints the result and writes the report.
pub(crate) fn run(args: &DemoArgs) -> Result<Outcome, Stop> {
    tidy_on_interrupt();
    let units = args.units.map(LengthUnits::from);
    let photo = photo::decode(SCAN, "lamp_pull.jpg", &PhotoOptions::default())?;
    keep_other_results(&args.out, &photo.sha256)?;
    let setting = Setting {
        plan: Some(Plan::from_json(PLAN)?),
        scale: ScaleRequest::Dpi,
        asked: vec![("scale", "dpi".to_owned())],
        ..Setting::default()
    };
    let measured = measure_one(photo, &setting, None)?;
    write_results(&args.out, &measured, setting.plan.as_ref(), units)?;
    let context = Context {
        plan: setting.plan.as_ref(),
        verdict: &measured.verdict,
        units,
    };
    let options = TextOptions {
        width: terminal_width(),
    };
    let mut out = stdout().lock();
    write_text(&measured.measurement, &context, options, &mut out)?;
    let report = args.out.join("report.html");
    writeln!(out, "\nThe whole report: {}", report.display())?;
    out.flush()?;
    Ok(Outcome::Done)
}
