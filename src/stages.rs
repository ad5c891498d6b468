//! Seeing inside: each stage can show a picture of what it saw.
//!
//! A wrong number is debugged by looking. The library hands pictures to whoever asked for them
//! and writes nothing itself; the default looks away.

use image::RgbImage;

/// Is shown each stage's picture.
pub trait Stages {
    /// Whether anybody looks: drawing is skipped where not.
    fn watching(&self) -> bool {
        false
    }

    /// The picture that the stage `name` (such as `2-mask`) ended with.
    fn show(&mut self, name: &str, picture: &RgbImage) {
        let _ = (name, picture);
    }
}

/// Looks away.
impl Stages for () {}
