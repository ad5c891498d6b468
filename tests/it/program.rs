//! The program, run as it is typed.

use assert_cmd::Command;

/// The program, yet without words.
pub(crate) fn evenfell() -> Command {
    Command::new(assert_cmd::cargo::cargo_bin!("evenfell"))
}

/// Runs with these words; gives the exit code, standard output and standard error.
pub(crate) fn run(words: &[&str]) -> (i32, String, String) {
    let output = evenfell().args(words).output().unwrap();
    (
        output.status.code().unwrap(),
        String::from_utf8(output.stdout).unwrap(),
        String::from_utf8(output.stderr).unwrap(),
    )
}
