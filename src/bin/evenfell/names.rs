//! What a file is called.

use std::path::Path;

/// A file's name without its folders.
pub(crate) fn bare_name(path: &Path) -> String {
    path.file_name()
        .unwrap_or(path.as_os_str())
        .to_string_lossy()
        .into_owned()
}

/// A bare name without its ending.
pub(crate) fn stem(name: &str) -> &str {
    Path::new(name)
        .file_stem()
        .and_then(|stem| stem.to_str())
        .unwrap_or(name)
}
