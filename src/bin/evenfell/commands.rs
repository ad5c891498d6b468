//! The small commands: schemas and shell completions.

use std::io::{Write, stdout};

use clap::CommandFactory;
use evenfell::compare::Comparison;
use evenfell::corrections::Corrections;
use evenfell::measurement::Measurement;
use evenfell::plan::plan_schema;
use evenfell::report::write_json_pretty;
use evenfell::yarn::Yardage;

use crate::args::{Cli, SchemaOf};
use crate::exit::{Outcome, Stop};

/// Prints the JSON Schema of a file.
pub(crate) fn schema(of: SchemaOf) -> Result<Outcome, Stop> {
    let schema = match of {
        SchemaOf::Plan => plan_schema(),
        SchemaOf::Measurement => schemars::schema_for!(Measurement).to_value(),
        SchemaOf::Comparison => schemars::schema_for!(Comparison).to_value(),
        SchemaOf::Corrections => schemars::schema_for!(Corrections).to_value(),
        SchemaOf::Yardage => schemars::schema_for!(Yardage).to_value(),
    };
    let mut out = stdout().lock();
    write_json_pretty(&schema, &mut out)?;
    out.flush()?;
    Ok(Outcome::Done)
}

/// Prints completions for a shell.
pub(crate) fn completions(shell: clap_complete::Shell) -> Result<Outcome, Stop> {
    let mut text = Vec::new();
    clap_complete::generate(shell, &mut Cli::command(), "evenfell", &mut text);
    let mut out = stdout().lock();
    out.write_all(&text)?;
    out.flush()?;
    Ok(Outcome::Done)
}
