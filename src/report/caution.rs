//! When must a report say that it doesn't speak of safety?
//!
//! # Method
//! The plan's title is searched for words of things that hold a person or an animal, hang round a
//! neck, or lie in a child's hands. A word counts from its beginning, so that "straps" and
//! "leashes" are seen too.
//!
//! # Limits
//! A title that doesn't say what the band is for gets no caution; the README carries it always.

use crate::measurement::Measurement;
use crate::plan::Plan;

/// The caution, where it applies.
pub const CAUTION: &str = "A photo says nothing of strength. This program doesn't judge a strap \
that holds a person, a child or an animal, or anything worn round the neck: a lanyard wants a \
breakaway clasp, a child's thing no small loose parts. Follow the makers' ratings and local rules.";

/// Beginnings of the words in a title that call for the caution.
const WORDS: [&str; 24] = [
    "strap", "lanyard", "child", "kid", "baby", "babies", "infant", "toddler", "pacifier", "pet",
    "dog", "cat", "horse", "leash", "collar", "harness", "halter", "lead", "neck", "sling",
    "carrier", "belt", "tether", "toy",
];

/// Words that begin like one of [`WORDS`] and mean something else.
const OTHER_WORDS: [&str; 6] = ["petal", "petrol", "category", "leader", "catch", "beltane"];

/// The caution, if the plan's title or the photo's name calls for it.
///
/// ```
/// # use evenfell::report::{CAUTION, caution_in};
/// assert_eq!(caution_in("Oar-strap band"), Some(CAUTION));
/// assert_eq!(caution_in("Tide-table bookmark"), None);
/// ```
#[must_use]
pub fn caution_in(title: &str) -> Option<&'static str> {
    let lower = title.to_lowercase();
    lower
        .split(|c: char| !c.is_alphabetic())
        .filter(|word| !OTHER_WORDS.iter().any(|other| word.starts_with(other)))
        .any(|word| WORDS.iter().any(|begin| word.starts_with(begin)))
        .then_some(CAUTION)
}

/// The caution for a result: its plan's title, else the photo's own name, speaks.
#[must_use]
pub fn caution_for(measurement: &Measurement, plan: Option<&Plan>) -> Option<&'static str> {
    plan.and_then(|plan| caution_in(&plan.title))
        .or_else(|| caution_in(&measurement.photo.file))
}
