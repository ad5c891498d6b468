//! `--stages`: a picture of what each stage saw.

use std::path::{Path, PathBuf};

use evenfell::Error;
use evenfell::stages::Stages;
use image::RgbImage;

use crate::outputs::write_whole;
use crate::results::write_png;

/// Writes each picture into a folder, named for its stage.
#[derive(Debug)]
pub(crate) struct StageFolder {
    dir: Option<PathBuf>,
    failed: Option<Error>,
}

impl StageFolder {
    /// Pictures into `dir`, made where it is missing; none without it.
    pub(crate) fn new(dir: Option<&Path>) -> Result<Self, Error> {
        if let Some(dir) = dir {
            std::fs::create_dir_all(dir)
                .map_err(|source| crate::outputs::file_error(dir, source))?;
        }
        Ok(Self {
            dir: dir.map(Path::to_owned),
            failed: None,
        })
    }

    /// The first picture that couldn't be written, if any.
    pub(crate) fn end(self) -> Result<(), Error> {
        self.failed.map_or(Ok(()), Err)
    }
}

impl Stages for StageFolder {
    fn watching(&self) -> bool {
        self.dir.is_some() && self.failed.is_none()
    }

    fn show(&mut self, name: &str, picture: &RgbImage) {
        if let (Some(dir), None) = (&self.dir, &self.failed) {
            let path = dir.join(format!("{name}.png"));
            self.failed = write_whole(&path, |out| write_png(picture, out)).err();
        }
    }
}
