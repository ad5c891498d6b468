//! Files and folders that aren't whole yet, and what an interrupt does with them.
//!
//! A file is written beside its final place and then moved there. Whoever interrupts the program
//! in between shall find neither half a file nor a stray one: they are kept in a list while they
//! are unfinished, and an interrupt removes what stands in it. While finished files are being moved
//! the interrupt waits: a result's files appear together.

#[cfg(unix)]
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

#[cfg(unix)]
/// Exit code of an interrupted program, as shells count it.
const INTERRUPTED: i32 = 130;

/// What an interrupt removes, the newest last.
static UNFINISHED: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());
/// Held while finished files are moved to their places.
static MOVING: Mutex<()> = Mutex::new(());

/// Something unfinished; it is forgotten when this is dropped.
#[derive(Debug)]
pub(crate) struct Unfinished(PathBuf);

impl Unfinished {
    /// Makes something and puts its path into the list, in one go: an interrupt can't come between.
    pub(crate) fn make<T>(
        make: impl FnOnce() -> io::Result<T>,
        path: impl FnOnce(&T) -> &Path,
    ) -> io::Result<(T, Self)> {
        let mut list = locked(&UNFINISHED);
        let made = make()?;
        let path = path(&made).to_owned();
        list.push(path.clone());
        Ok((made, Self(path)))
    }
}

impl Drop for Unfinished {
    fn drop(&mut self) {
        let mut list = locked(&UNFINISHED);
        if let Some(at) = list.iter().rposition(|path| *path == self.0) {
            list.remove(at);
        }
    }
}

/// Keeps an interrupt waiting while it lives.
pub(crate) fn moving() -> MutexGuard<'static, ()> {
    locked(&MOVING)
}

/// From now on an interrupt (Ctrl-C, or a polite kill) removes what is unfinished
/// before the program ends.
#[cfg(unix)]
pub(crate) fn tidy_on_interrupt() {
    use signal_hook::consts::{SIGINT, SIGTERM};
    use signal_hook::iterator::Signals;
    // Where none can be awaited, an interrupt leaves a hidden file behind, and nothing is lost.
    let Ok(mut signals) = Signals::new([SIGINT, SIGTERM]) else {
        return;
    };
    std::thread::spawn(move || {
        if signals.forever().next().is_some() {
            tidy_and_end();
        }
    });
}

/// Elsewhere an interrupt leaves a hidden file behind, and nothing is lost.
#[cfg(not(unix))]
pub(crate) fn tidy_on_interrupt() {}

/// Removes what is unfinished and ends the program.
#[cfg(unix)]
fn tidy_and_end() {
    let _moving = moving();
    // Held to the end: nothing new is begun.
    let list = locked(&UNFINISHED);
    for path in list.iter().rev() {
        // What isn't there any more needn't go; a folder goes only when it is empty.
        let _ = fs::remove_file(path).or_else(|_| fs::remove_dir(path));
    }
    std::process::exit(INTERRUPTED);
}

/// A lock that a panic elsewhere doesn't close.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}
