//! Files that appear whole or not at all.

use std::collections::BTreeMap;
use std::ffi::OsStr;
use std::fs::{self, OpenOptions};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use evenfell::Error;
use evenfell::files::read_at_most;
use evenfell::measurement::{MOST_RESULT_BYTES, Measurement};
use tempfile::{NamedTempFile, TempPath};

use crate::unfinished::{Unfinished, moving};

/// The result's own file in an output folder.
const RESULT: &str = "measurement.json";

/// Files that are written beside their final names and then moved there together.
#[derive(Debug)]
pub(crate) struct Folder {
    dir: PathBuf,
    waiting: Vec<Waiting>,
    /// Folders that were made for it, the innermost first; they go again where no file came of it.
    made: Vec<(PathBuf, Unfinished)>,
}

/// A file beside its final place.
#[derive(Debug)]
struct Waiting {
    temporary: TempPath,
    unfinished: Unfinished,
    place: PathBuf,
}

impl Folder {
    /// A folder for results, made where it is missing.
    pub(crate) fn new(dir: &Path) -> Result<Self, Error> {
        let mut folder = Self {
            dir: dir.to_owned(),
            waiting: Vec::new(),
            made: Vec::new(),
        };
        let missing: Vec<&Path> = dir
            .ancestors()
            .take_while(|path| *path != Path::new("") && !path.exists())
            .collect();
        for path in missing.into_iter().rev() {
            let make = || match fs::create_dir(path) {
                // Another photo's folder may have been made at the same time.
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists => Ok(path),
                made => made.map(|()| path),
            };
            let (path, unfinished) =
                Unfinished::make(make, |path| *path).map_err(|source| file_error(path, source))?;
            folder.made.insert(0, (path.to_owned(), unfinished));
        }
        fs::create_dir_all(dir).map_err(|source| file_error(dir, source))?;
        Ok(folder)
    }

    /// Writes a file beside its final place; it appears with [`Folder::publish`].
    pub(crate) fn add(
        &mut self,
        name: &str,
        fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
    ) -> Result<(), Error> {
        let place = self.dir.join(name);
        let (temporary, unfinished) =
            filled(&self.dir, fill).map_err(|source| file_error(&place, source))?;
        self.waiting.push(Waiting {
            temporary,
            unfinished,
            place,
        });
        Ok(())
    }

    /// Moves every file to its final place.
    pub(crate) fn publish(mut self) -> Result<(), Error> {
        let _moving = moving();
        for file in std::mem::take(&mut self.waiting) {
            file.temporary
                .persist(&file.place)
                .map_err(|error| file_error(&file.place, error.error))?;
            drop(file.unfinished);
            self.made.clear();
        }
        Ok(())
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        self.waiting.clear();
        for (path, _) in &self.made {
            // A folder that holds something by now stays.
            let _ = fs::remove_dir(path);
        }
    }
}

/// Refuses a folder that holds the result of another photo, or files of these names that aren't a
/// result's. The folder needn't be there yet.
pub(crate) fn keep_other_results(dir: &Path, sha256: &str, names: &[&str]) -> Result<(), Error> {
    let refuse = |why: String| Error::Request {
        what: format!("--out {}", dir.display()),
        why,
    };
    let Ok(text) = read_at_most(&dir.join(RESULT), MOST_RESULT_BYTES) else {
        let taken = names.iter().find(|name| dir.join(name).exists());
        return taken.map_or(Ok(()), |name| {
            Err(refuse(format!(
                "there is a {name} without a {RESULT} beside it, so it may be somebody else's: \
                 choose another folder or move it away"
            )))
        });
    };
    match serde_json::from_slice::<Measurement>(&text) {
        Ok(old) if old.photo.sha256 == sha256 => Ok(()),
        Ok(old) => Err(refuse(format!(
            "it holds the result of another photo ({}): choose another folder or move it away",
            old.photo.file
        ))),
        Err(_) => Err(refuse(format!(
            "its {RESULT} is no result of this version: choose another folder or move it away"
        ))),
    }
}

/// Writes one file whole or not at all. Something there that is no file, such as a device or a pipe,
/// is written to as it is: it can't be replaced.
pub(crate) fn write_whole(
    path: &Path,
    fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> Result<(), Error> {
    let error = |source| file_error(path, source);
    // A link stays one: what it leads to is replaced.
    let place = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    if place
        .metadata()
        .is_ok_and(|there| !there.is_file() && !there.is_dir())
    {
        let mut out = OpenOptions::new().write(true).open(&place).map_err(error)?;
        return fill(&mut out).and_then(|()| out.flush()).map_err(error);
    }
    let (temporary, _unfinished) = filled(parent(&place), fill).map_err(error)?;
    let _moving = moving();
    let moved = temporary.persist(&place);
    moved.map_err(|failed| error(failed.error))
}

/// Writes a file whole, or not at all where one is there already.
pub(crate) fn write_new(path: &Path, content: &[u8]) -> Result<(), Error> {
    let error = |source| file_error(path, source);
    let (temporary, _unfinished) =
        filled(parent(path), |out| out.write_all(content)).map_err(error)?;
    let _moving = moving();
    let moved = temporary.persist_noclobber(path);
    moved.map_err(|failed| error(failed.error))
}

/// The folder that a file lies in.
fn parent(path: &Path) -> &Path {
    match path.parent() {
        Some(dir) if dir != Path::new("") => dir,
        _ => Path::new("."),
    }
}

/// A temporary file in `dir` with its content on the disk.
fn filled(
    dir: &Path,
    fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> io::Result<(TempPath, Unfinished)> {
    let (file, unfinished) = Unfinished::make(|| new_temporary(dir), NamedTempFile::path)?;
    let mut out = BufWriter::new(file);
    fill(&mut out)?;
    let file = out.into_inner().map_err(io::IntoInnerError::into_error)?;
    file.as_file().sync_all()?;
    Ok((file.into_temp_path(), unfinished))
}

/// A temporary file that others may read as they may read any file this user makes.
fn new_temporary(dir: &Path) -> io::Result<NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".evenfell-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    builder.tempfile_in(dir)
}

/// The error of a file that can't be written.
pub(crate) fn file_error(path: &Path, source: io::Error) -> Error {
    Error::File {
        path: path.to_owned(),
        source,
    }
}

/// The name of each photo's own folder: the photo's without the ending, with the ending where two
/// photos share the rest, and with a number where they share even that. One photo needs none.
pub(crate) fn folder_names(photos: &[PathBuf]) -> Vec<Option<String>> {
    if photos.len() == 1 {
        return vec![None];
    }
    let words = |part: Option<&OsStr>| {
        part.map_or_else(
            || "photo".to_owned(),
            |part| part.to_string_lossy().into_owned(),
        )
    };
    let mut stems: BTreeMap<String, usize> = BTreeMap::new();
    for photo in photos {
        *stems.entry(words(photo.file_stem())).or_default() += 1;
    }
    let mut taken: BTreeMap<String, usize> = BTreeMap::new();
    photos
        .iter()
        .map(|photo| {
            let stem = words(photo.file_stem());
            let base = match stems.get(&stem) {
                Some(1) => stem,
                _ => words(photo.file_name()),
            };
            let times = taken.entry(base.clone()).or_default();
            *times += 1;
            Some(match *times {
                1 => base,
                again => format!("{base}, {again}"),
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_photo_gets_a_folder_of_its_own() {
        let photos = ["a/quay.jpg", "b/quay.jpg", "b/quay.png", "rope.jpg"].map(PathBuf::from);
        let expected = ["quay.jpg", "quay.jpg, 2", "quay.png", "rope"];
        assert_eq!(
            folder_names(&photos),
            expected.map(|name| Some(name.to_owned()))
        );
        assert_eq!(folder_names(&photos[..1]), [None]);
    }
}
