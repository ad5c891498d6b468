//! Reads the entries of one group of a plan and notes every mistake with its place.

use super::node::Node;
use crate::units::{LengthUnits, parse_length_mm, parse_share, quoted, rounded, units_of};
use crate::yarn::Yarn;

/// One thing that is wrong.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Mistake {
    pub(super) place: String,
    pub(super) why: String,
}

/// After how many mistakes wrong keys are no longer looked into.
const ENOUGH: usize = 100;

/// All mistakes of a plan, in the order in which they were met.
#[derive(Debug, Default)]
pub(super) struct Mistakes(pub(super) Vec<Mistake>);

impl Mistakes {
    pub(super) fn add(&mut self, place: impl Into<String>, why: impl Into<String>) {
        self.0.push(Mistake {
            place: place.into(),
            why: why.into(),
        });
    }
}

/// The entries of one group.
pub(super) struct Section<'a> {
    path: String,
    entries: &'a [(String, Node)],
}

impl<'a> Section<'a> {
    /// The group at `path` (empty for the whole plan), with its keys checked: known ones only, and
    /// none twice.
    pub(super) fn open(
        path: &str,
        entries: &'a [(String, Node)],
        known: &[&str],
        mistakes: &mut Mistakes,
    ) -> Self {
        let section = Self {
            path: path.to_owned(),
            entries,
        };
        for (at, (key, _)) in entries.iter().enumerate() {
            if mistakes.0.len() >= ENOUGH {
                break;
            }
            if !known.contains(&key.as_str()) {
                mistakes.add(section.place(&quoted(key)), unknown_key(key, known));
            } else if entries[..at].iter().any(|(before, _)| before == key) {
                mistakes.add(section.place(key), "stands here twice: keep one of them");
            }
        }
        section
    }

    /// The place of `key`, such as `warp.strands`.
    pub(super) fn place(&self, key: &str) -> String {
        if self.path.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.path)
        }
    }

    /// The value of `key`, where it stands.
    pub(super) fn get(&self, key: &str) -> Option<&'a Node> {
        self.entries
            .iter()
            .find(|(name, _)| name == key)
            .map(|(_, node)| node)
    }

    /// Notes that `key` is missing, where it is.
    pub(super) fn require(&self, key: &str, example: &str, mistakes: &mut Mistakes) {
        if self.get(key).is_none() {
            mistakes.add(
                self.place(key),
                format!("is missing: every plan needs it, such as \"{key}\": {example}"),
            );
        }
    }

    /// The text of `key`; `example` is shown where it is no text.
    pub(super) fn text(
        &self,
        key: &str,
        example: &str,
        mistakes: &mut Mistakes,
    ) -> Option<&'a str> {
        match self.get(key)? {
            Node::Text(text) => Some(text),
            Node::Number(value) => {
                mistakes.add(
                    self.place(key),
                    format!(
                        "is the bare number {}: write it as text with its unit, such as {example}",
                        rounded(*value, 6)
                    ),
                );
                None
            }
            other => {
                mistakes.add(
                    self.place(key),
                    format!("is {}: write text, such as {example}", other.what()),
                );
                None
            }
        }
    }

    /// The length at `key`, mm, between `least` (not itself) and `most`.
    pub(super) fn length(
        &self,
        key: &str,
        example: &str,
        range: LengthRange,
        mistakes: &mut Mistakes,
    ) -> Option<f64> {
        let text = self.text(key, example, mistakes)?;
        let why = match parse_length_mm(text) {
            Err(why) => why,
            Ok(mm) if mm > range.most_mm => format!(
                "'{}' is longer than {} can be ({})",
                quoted(text),
                range.what,
                crate::units::shown_length(range.most_mm, LengthUnits::Centimetres)
            ),
            Ok(mm) if mm <= 0.0 && !range.zero => {
                format!("'{}' is nothing: it must be longer than 0", quoted(text))
            }
            Ok(mm) => return Some(mm),
        };
        mistakes.add(self.place(key), why);
        None
    }

    /// The units that the length at `key` is written in.
    pub(super) fn units(&self, key: &str) -> Option<LengthUnits> {
        match self.get(key)? {
            Node::Text(text) => units_of(text),
            _ => None,
        }
    }

    /// The percentage at `key` as a fraction, below `limit` (a fraction too).
    pub(super) fn share(&self, key: &str, limit: f64, mistakes: &mut Mistakes) -> Option<f64> {
        let text = self.text(key, "\"7 %\"", mistakes)?;
        let why = match parse_share(text) {
            Err(why) => why,
            Ok(share) if share >= limit => format!(
                "'{}' is too much: it must be below {} %",
                quoted(text),
                rounded(limit * 100.0, 0)
            ),
            Ok(share) => return Some(share),
        };
        mistakes.add(self.place(key), why);
        None
    }

    /// A whole number at `key` from `least` to `most`.
    pub(super) fn count(
        &self,
        key: &str,
        (least, most): (u32, u32),
        mistakes: &mut Mistakes,
    ) -> Option<u32> {
        let why = match self.get(key)? {
            Node::Number(value) => match whole(*value) {
                Some(count) if (least..=most).contains(&count) => return Some(count),
                _ => format!(
                    "is {}: it must be a whole number from {least} to {most}",
                    shown_number(*value)
                ),
            },
            Node::Text(text) => format!(
                "is the text '{}': write a whole number from {least} to {most} without quotes",
                quoted(text)
            ),
            other => format!(
                "is {}: write a whole number from {least} to {most}",
                other.what()
            ),
        };
        mistakes.add(self.place(key), why);
        None
    }

    /// The yarn at `key`.
    pub(super) fn yarn(&self, key: &str, mistakes: &mut Mistakes) -> Option<Yarn> {
        let text = self.text(key, "\"8/4 cotton\"", mistakes)?;
        Yarn::parse(text)
            .map_err(|why| mistakes.add(self.place(key), why))
            .ok()
    }

    /// The entries of the group at `key`, where it stands and is one.
    pub(super) fn group(&self, key: &str, mistakes: &mut Mistakes) -> Option<&'a [(String, Node)]> {
        match self.get(key)? {
            Node::Object(entries) => Some(entries),
            other => {
                mistakes.add(
                    self.place(key),
                    format!("is {}: write a group in braces, {{ … }}", other.what()),
                );
                None
            }
        }
    }
}

/// Which lengths are possible for something.
#[derive(Clone, Copy, Debug)]
pub(super) struct LengthRange {
    /// What it is the length of, for messages.
    pub(super) what: &'static str,
    /// The longest, mm.
    pub(super) most_mm: f64,
    /// Whether it may be nothing.
    pub(super) zero: bool,
}

fn whole(value: f64) -> Option<u32> {
    if value.fract() != 0.0 || !(0.0..=f64::from(u32::MAX)).contains(&value) {
        return None;
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "whole and within u32, checked above"
    )]
    let count = value as u32;
    Some(count)
}

fn shown_number(value: f64) -> String {
    if value.abs() < 1e15 {
        rounded(value, 6)
    } else {
        format!("{value:e}")
    }
}

fn unknown_key(key: &str, known: &[&str]) -> String {
    let small = key.trim().to_lowercase().replace([' ', '-'], "_");
    let nearest = known
        .iter()
        .map(|name| (edits(&small, name), name))
        .min_by_key(|(edits, _)| *edits)
        .filter(|(edits, name)| *edits <= 1 + name.len() / 4);
    match nearest {
        Some((_, name)) => format!("is not known here: did you mean \"{name}\"?"),
        None => format!("is not known here: the keys are {}", known.join(", ")),
    }
}

/// How many letters must be put in, taken out or changed to get from `a` to `b` (Levenshtein).
fn edits(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    // A key much longer than any known one is none of them.
    for (i, x) in a.chars().take(40).enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let changed = diagonal + usize::from(x != *y);
            diagonal = row[j + 1];
            row[j + 1] = changed.min(diagonal + 1).min(row[j] + 1);
        }
    }
    row[b.len()]
}
