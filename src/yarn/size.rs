//! Yarn sizes: how many metres a kilogram of a yarn runs.
//!
//! # Method
//! 1. A length over a mass (`560 yd/lb`, `3400 m/kg`, `125 m per 50 g`) says it outright.
//! 2. Else a number and a system: so many hanks of a fixed length to the pound or kilogram
//!    ([`System`]), or so many grams to a fixed length (tex, dtex, denier).
//! 3. `a/b` is size and ply. With a ≥ b it reads size/ply (`8/4` cotton is four strands of 8's);
//!    with a < b and a ≤ 6 it reads ply/size (`4/8` is the same yarn); anything else fits both
//!    ways of writing and is refused, with both readings.
//!
//! # Limits
//! The count says nothing of thickness: see [`sett`](crate::yarn::plain_sett_per_inch).
//!
//! # References
//! Hank lengths: M. Roth and J. Schulz, *Handbook of Timesaving Tables for Weavers, Spinners and
//! Dyers* (1993). Everything is computed from 1 yd = 0.9144 m and 1 lb = 0.453 592 37 kg.

use serde::{Deserialize, Serialize};

use super::system::{Counting, find_system};
use crate::units::{Quantities, rounded, simplify};

/// Thinnest yarn that is believed, metres per kilogram (0.5 tex).
const FINEST: f64 = 2.0e6;
/// Thickest yarn that is believed, metres per kilogram (a rope as thick as a wrist).
const COARSEST: f64 = 1.0;
/// Most plies that the first number of `a/b` can be, where it is below the second.
const MOST_PLIES_FIRST: f64 = 6.0;
/// How a yarn size is written, for messages.
const WAYS: &str = "write it like 8/4 cotton, 560 yd/lb, 40 Nm, 2/48 Nm, 3400 m/kg, 30 tex";

/// A yarn of known size.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Yarn {
    /// The size as it was written.
    pub written: String,
    /// Metres to the kilogram.
    pub metres_per_kg: f64,
}

impl Yarn {
    /// Reads a yarn size.
    ///
    /// ```
    /// use evenfell::yarn::Yarn;
    /// let carpet_warp = Yarn::parse("8/4 cotton").unwrap();
    /// assert!((carpet_warp.yards_per_pound() - 1680.0).abs() < 1e-9);
    /// assert_eq!(Yarn::parse("4/8 cotton").unwrap().metres_per_kg, carpet_warp.metres_per_kg);
    /// assert!(Yarn::parse("8/16 cotton").is_err());
    /// ```
    ///
    /// # Errors
    ///
    /// A sentence that quotes the text and says what would be right; where a size can be read in
    /// two ways, both readings.
    pub fn parse(text: &str) -> Result<Self, String> {
        let metres_per_kg =
            read(text).map_err(|why| format!("'{}' {why}", crate::units::quoted(text)))?;
        if !(COARSEST..=FINEST).contains(&metres_per_kg) {
            return Err(format!(
                "'{}' makes {} m to the kilogram, which no yarn is: {WAYS}",
                crate::units::quoted(text),
                rounded(metres_per_kg, 3)
            ));
        }
        Ok(Self {
            written: text.trim().to_owned(),
            metres_per_kg,
        })
    }

    /// Yards to the pound.
    #[must_use]
    pub fn yards_per_pound(&self) -> f64 {
        self.metres_per_kg * crate::units::KG_PER_POUND / 0.9144
    }

    /// Grams to the kilometre.
    #[must_use]
    pub fn tex(&self) -> f64 {
        1e6 / self.metres_per_kg
    }

    /// Mass of `length_m` metres of one strand, kg.
    #[must_use]
    pub fn mass_kg(&self, length_m: f64) -> f64 {
        length_m / self.metres_per_kg
    }
}

fn read(text: &str) -> Result<f64, String> {
    let simple = simplify(text)?;
    if let Some(outright) = length_over_mass(&simple) {
        return outright;
    }
    let (count, words) = split_count(&simple);
    let system = find_system(&words)?;
    let Some(count) = count else {
        return Err(format!("has no number: {WAYS}"));
    };
    let Some(system) = system else {
        return Err(match count {
            Count::Single(_) => format!("doesn't say in which system: {WAYS}"),
            Count::Pair(a, b) => format!(
                "doesn't say {}/{} of what: cotton, worsted, woollen run, linen lea or Nm",
                rounded(a, 3),
                rounded(b, 3)
            ),
        });
    };
    match system.counting {
        Counting::PerKilogram(metres) => sized(&count, metres, system.name),
        Counting::GramsPerMetres(metres) => match count {
            Count::Single(grams) if grams > 0.0 => Ok(1000.0 * metres / grams),
            Count::Single(_) => Err("is a yarn of no size".to_owned()),
            Count::Pair(..) => Err(format!(
                "has a ply after a size in {}: write the size of the whole yarn",
                system.name
            )),
        },
    }
}

/// The number of a size: one, or the two of `a/b`.
enum Count {
    Single(f64),
    Pair(f64, f64),
}

/// Metres per kilogram of a count of hanks, each `hank` metres to the kilogram.
fn sized(count: &Count, hank: f64, system: &str) -> Result<f64, String> {
    let (size, ply) = match *count {
        Count::Single(size) => (size, 1.0),
        Count::Pair(a, b) if a >= b => (a, b),
        Count::Pair(a, b) if a <= MOST_PLIES_FIRST && a.fract() == 0.0 => (b, a),
        Count::Pair(a, b) => {
            return Err(format!(
                "reads two ways: size {a} in {b} plies is {} m/kg, size {b} in {a} plies is \
                 {} m/kg; write the larger of size and ply first if it is the size ({b}/{a} \
                 {system}), or give m/kg",
                rounded(hank * a / b, 0),
                rounded(hank * b / a, 0)
            ));
        }
    };
    if size <= 0.0 || ply <= 0.0 {
        return Err("is a yarn of no size".to_owned());
    }
    if ply.fract() != 0.0 {
        return Err(format!("has {ply} plies: a ply is a whole number"));
    }
    Ok(hank * size / ply)
}

/// `560 yd/lb`, `3400 m per kg`, `125 m/50 g`: metres per kilogram; `None` where the text is no
/// length over a mass.
fn length_over_mass(simple: &str) -> Option<Result<f64, String>> {
    let mut quantities = Quantities::new(simple);
    let value = quantities.number().ok()?;
    let unit = quantities.word();
    if unit == "ypp" && quantities.is_empty() {
        return Some(Ok(value * 0.9144 / crate::units::KG_PER_POUND));
    }
    // The sign in "30's cotton" is no foot.
    let mm = crate::units::mm_per_unit(unit).filter(|_| !unit.starts_with('\''))?;
    if !matches!(quantities.word(), "/" | "per" | "to") {
        return Some(Err(format!(
            "is a length: say in how much yarn, such as 560 yd/lb ({WAYS})"
        )));
    }
    while matches!(quantities.rest().split(' ').next(), Some("a" | "the")) {
        quantities.word();
    }
    let over = if quantities.rest().starts_with(|c: char| c.is_ascii_digit()) {
        match quantities.number() {
            Ok(over) => over,
            Err(why) => return Some(Err(why)),
        }
    } else {
        1.0
    };
    let mass_unit = quantities.word();
    let kg = crate::units::kg_per_unit(mass_unit).filter(|_| quantities.is_empty());
    Some(match kg {
        None => Err(format!("doesn't end in g, kg, oz or lb: {WAYS}")),
        Some(_) if over <= 0.0 || value <= 0.0 => Err("is a yarn of no size".to_owned()),
        Some(kg) => Ok(value * mm / 1000.0 / (over * kg)),
    })
}

/// The size's number, wherever in the text it stands, and the words without it.
fn split_count(simple: &str) -> (Option<Count>, String) {
    let Some(start) = simple.find(|c: char| c.is_ascii_digit()) else {
        return (None, simple.to_owned());
    };
    let tail = &simple[start..];
    let end = tail
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | '/')))
        .unwrap_or(tail.len());
    let (number, after) = tail.split_at(end);
    let words = format!("{} {}", &simple[..start], after);
    let parts: Vec<Option<f64>> = number.split('/').map(|part| part.parse().ok()).collect();
    let count = match parts[..] {
        [Some(single)] => Some(Count::Single(single)),
        [Some(a), Some(b)] => Some(Count::Pair(a, b)),
        _ => None,
    };
    (count, words)
}

#[cfg(test)]
mod tests;
