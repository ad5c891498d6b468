//! Files that appear whole or not at all.

use std::collections::BTreeMap;
use std::ffi::OsStr;
use std::fs;
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};

use evenfell::Error;
use evenfell::measurement::Measurement;
use tempfile::{NamedTempFile, TempPath};

/// The result's own file in an output folder.
const RESULT: &str = "measurement.json";

/// Files that are written beside their final names and then moved there together.
#[derive(Debug)]
pub(crate) struct Folder {
    dir: PathBuf,
    waiting: Vec<(TempPath, PathBuf)>,
}

impl Folder {
    /// A folder for results, made where it is missing.
    pub(crate) fn new(dir: &Path) -> Result<Self, Error> {
        fs::create_dir_all(dir).map_err(|source| file_error(dir, source))?;
        Ok(Self {
            dir: dir.to_owned(),
            waiting: Vec::new(),
        })
    }

    /// Writes a file beside its final place; it appears with [`Folder::publish`].
    pub(crate) fn add(
        &mut self,
        name: &str,
        fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
    ) -> Result<(), Error> {
        let path = self.dir.join(name);
        let temporary = filled(&self.dir, fill).map_err(|source| file_error(&path, source))?;
        self.waiting.push((temporary, path));
        Ok(())
    }

    /// Moves every file to its final place.
    pub(crate) fn publish(self) -> Result<(), Error> {
        for (temporary, path) in self.waiting {
            temporary
                .persist(&path)
                .map_err(|error| file_error(&path, error.error))?;
        }
        Ok(())
    }
}

/// Refuses a folder that holds the result of another photo, or files of these names that aren't a
/// result's. The folder needn't be there yet.
pub(crate) fn keep_other_results(dir: &Path, sha256: &str, names: &[&str]) -> Result<(), Error> {
    let refuse = |why: String| Error::Request {
        what: format!("--out {}", dir.display()),
        why,
    };
    let Ok(text) = fs::read(dir.join(RESULT)) else {
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

/// Writes one file whole or not at all.
pub(crate) fn write_whole(
    path: &Path,
    fill: impl FnOnce(&mut dyn Write) -> io::Result<()>,
) -> Result<(), Error> {
    let dir = match path.parent() {
        Some(dir) if dir != Path::new("") => dir,
        _ => Path::new("."),
    };
    filled(dir, fill)
        .and_then(|temporary| temporary.persist(path).map_err(|error| error.error))
        .map_err(|source| file_error(path, source))
}

/// A temporary file in `dir` with its content on the disk.
fn filled(dir: &Path, fill: impl FnOnce(&mut dyn Write) -> io::Result<()>) -> io::Result<TempPath> {
    let mut out = BufWriter::new(new_temporary(dir)?);
    fill(&mut out)?;
    let file = out.into_inner().map_err(io::IntoInnerError::into_error)?;
    file.as_file().sync_all()?;
    Ok(file.into_temp_path())
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
