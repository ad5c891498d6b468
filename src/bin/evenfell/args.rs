//! What was typed.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use serde::Deserialize;

use crate::compare_command::CompareArgs;
use crate::demo::DemoArgs;
use crate::exit::EXIT_CODES;
use crate::plan_command::PlanArgs;
use crate::sheet_command::SheetArgs;
use crate::yardage_command::YardageArgs;

/// Measures a finished narrow hand-woven band from a flat photo or scan.
#[derive(Debug, Parser)]
#[command(name = "evenfell", version, about, after_help = EXIT_CODES)]
pub(crate) struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub(crate) command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Measure the built-in sample band against its plan and write a full report
    Demo(DemoArgs),
    /// Measure photos or scans of bands, one result a photo
    #[command(after_help = EXIT_CODES)]
    Measure(MeasureArgs),
    /// Hold several bands side by side: a class, one weaver over time, one band in several photos
    #[command(after_help = EXIT_CODES)]
    Compare(CompareArgs),
    /// The same work in a browser, on this machine only
    #[cfg(feature = "desk")]
    Desk(crate::desk::DeskArgs),
    /// Show what a plan works out to: picks, repeats, loom, warp and weft
    Plan(PlanArgs),
    /// Write the printable backing sheet that gives a photo its scale
    Sheet(SheetArgs),
    /// Reckon the yarn for the next bands, as planned and as measured ones say
    Yardage(YardageArgs),
    /// Print the JSON Schema of a file that this program reads or writes
    Schema {
        /// Of which file
        of: SchemaOf,
    },
    /// Print shell completions
    Completions {
        /// For which shell
        shell: clap_complete::Shell,
    },
}

/// What `measure` was asked.
#[derive(Debug, Args)]
pub(crate) struct MeasureArgs {
    /// Photos or scans: JPEG, PNG, TIFF or WebP
    #[arg(required = true, value_name = "PHOTO")]
    pub(crate) photos: Vec<PathBuf>,
    /// The plan that the band was woven to (JSON; `evenfell plan --new FILE` writes one to start from)
    #[arg(long, value_name = "PLAN")]
    pub(crate) plan: Option<PathBuf>,
    /// Where the scale comes from: auto, sheet, dpi (the file's own), 300dpi, card, or
    /// points:X1,Y1,X2,Y2=120mm (two places in the photo, px, and the length between them)
    #[arg(long, value_name = "SCALE", default_value = "auto")]
    pub(crate) scale: String,
    /// With the sheet: how long its check bar measures on your paper, such as 99.6mm
    #[arg(long, value_name = "LENGTH")]
    pub(crate) print_bar: Option<String>,
    /// Which end of the band in the photo was woven first
    #[arg(long, value_enum, value_name = "END")]
    pub(crate) start: Option<Start>,
    /// Write measurement.json, picks.csv, report.html and marked.png here, in a folder for each
    /// photo where there are several
    #[arg(long, value_name = "DIR")]
    pub(crate) out: Option<PathBuf>,
    /// The picture, or this rectangle of it (px), is cloth all over: measure only the picks, along
    /// the direction that --start names [default: left]
    #[arg(long, value_name = "X,Y,W,H", num_args = 0..=1, require_equals = true, default_missing_value = "")]
    pub(crate) swatch: Option<String>,
    /// The photo shows a stretch of a longer piece, which may run out of it at one end or both:
    /// no count, no length
    #[arg(long, conflicts_with = "swatch")]
    pub(crate) part: bool,
    /// Where the body lies, mm along the band from the start that the program finds by itself, such
    /// as 2.5..170; one of the two may be left out
    #[arg(long, value_name = "FROM..TO", allow_hyphen_values = true)]
    pub(crate) body: Option<String>,
    /// What was put right by hand (JSON, as `evenfell desk` saves it)
    #[arg(long, value_name = "FILE")]
    pub(crate) corrections: Option<PathBuf>,
    /// State of the cloth: named in the result, and draw-in is told for it
    #[arg(long, value_enum, value_name = "STATE")]
    pub(crate) state: Option<State>,
    /// Your own count to hold beside this one: picks, over what length, and where that begins from
    /// the start of the body, such as "11 in 1 in at 2 in"
    #[arg(long, value_name = "COUNT")]
    pub(crate) hand_count: Option<String>,
    /// Units of the text [default: the plan's own, else cm]
    #[arg(long, value_enum)]
    pub(crate) units: Option<Units>,
    /// Form of the result on standard output
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub(crate) format: Format,
    /// Write a picture of what each stage saw here
    #[arg(long, value_name = "DIR")]
    pub(crate) stages: Option<PathBuf>,
    /// End with exit code 1 where a figure is outside the plan
    #[arg(long)]
    pub(crate) check: bool,
}

/// Which end of the band in the photo is the start.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Start {
    /// The left end of a band that lies
    Left,
    /// The right end of a band that lies
    Right,
    /// The top end of a band that stands
    Top,
    /// The bottom end of a band that stands
    Bottom,
}

/// State of the cloth.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, ValueEnum)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum State {
    /// Still in the loom
    InLoom,
    /// Cut off the loom, not washed
    OffLoom,
    /// Washed and dry
    Washed,
}

/// Units of the text.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, ValueEnum)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Units {
    /// Inches and picks per inch
    In,
    /// Centimetres and picks per centimetre
    Cm,
}

/// Form of the result on standard output.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    /// For reading
    Text,
    /// One object a photo, one a line
    Json,
    /// One row a pick
    Csv,
}

/// Files that have a schema.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum SchemaOf {
    /// The plan file
    Plan,
    /// What `measure --format json` prints
    Measurement,
    /// What `compare --format json` prints
    Comparison,
    /// What `yardage --format json` prints
    Yardage,
    /// What `measure --corrections` reads
    Corrections,
}
