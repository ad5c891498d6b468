//! `sheet`: the printable backing sheet that gives a photo its scale.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use evenfell::Error;
use evenfell::sheet::{Ground, Layout, Paper, check_dpi, write_pdf, write_png, write_svg};
use serde::Deserialize;

use crate::exit::{Outcome, Stop, say};
use crate::outputs::write_whole;
use crate::unfinished::tidy_on_interrupt;

/// What `sheet` was asked.
#[derive(Debug, Args)]
pub(crate) struct SheetArgs {
    /// Size of the paper, landscape
    #[arg(long, value_enum, default_value_t = PaperSize::A4)]
    pub(crate) paper: PaperSize,
    /// What lies under the band: white for dark and coloured bands, grey for light ones
    #[arg(long, value_enum, default_value_t = GroundTone::White)]
    pub(crate) ground: GroundTone,
    /// Resolution of a PNG, pixels per inch
    #[arg(long, value_name = "N", default_value_t = 300)]
    pub(crate) dpi: u32,
    /// The file to write: its ending says whether PDF, SVG or PNG
    #[arg(long, value_name = "FILE.pdf|.svg|.png")]
    pub(crate) out: PathBuf,
}

/// Size of the paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, ValueEnum)]
#[serde(rename_all = "lowercase")]
pub(crate) enum PaperSize {
    /// 297 × 210 mm
    A4,
    /// 11 × 8½ in
    Letter,
}

/// What lies under the band.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, ValueEnum)]
#[serde(rename_all = "lowercase")]
pub(crate) enum GroundTone {
    /// Bare paper
    White,
    /// A printed grey
    Grey,
}

impl From<PaperSize> for Paper {
    fn from(size: PaperSize) -> Self {
        match size {
            PaperSize::A4 => Self::A4,
            PaperSize::Letter => Self::Letter,
        }
    }
}

impl From<GroundTone> for Ground {
    fn from(tone: GroundTone) -> Self {
        match tone {
            GroundTone::White => Self::White,
            GroundTone::Grey => Self::Grey,
        }
    }
}

/// Writes the sheet.
pub(crate) fn run(args: &SheetArgs) -> Result<Outcome, Stop> {
    check_dpi(args.dpi)?;
    let layout = Layout::new(args.paper.into(), args.ground.into());
    tidy_on_interrupt();
    let ending = args
        .out
        .extension()
        .map(|ending| ending.to_ascii_lowercase());
    match ending.as_deref().and_then(|ending| ending.to_str()) {
        Some("pdf") => write_whole(&args.out, |mut out| write_pdf(&layout, &mut out))?,
        Some("svg") => write_whole(&args.out, |mut out| write_svg(&layout, &mut out))?,
        Some("png") => write_whole(&args.out, |mut out| write_png(&layout, args.dpi, &mut out))?,
        _ => return Err(Stop::Library(wrong_ending(args))),
    }
    say(&format!(
        "{} is written: print it at 100 %, then measure its check bar with a ruler",
        args.out.display()
    ));
    Ok(Outcome::Done)
}

/// The file's name doesn't say which kind of file is wanted.
fn wrong_ending(args: &SheetArgs) -> Error {
    Error::Request {
        what: format!("--out {}", args.out.display()),
        why: "the name wants to end in .pdf, .svg or .png".to_owned(),
    }
}
