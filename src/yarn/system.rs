//! The systems that yarn sizes are counted in.

use crate::units::KG_PER_POUND;

/// Metres in a yard, exact.
const M_PER_YARD: f64 = 0.9144;

/// How a system counts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Counting {
    /// So many hanks to the unit of mass; the metres per kilogram of size 1.
    PerKilogram(f64),
    /// So many grams to this many metres.
    GramsPerMetres(f64),
}

/// A system of yarn sizes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct System {
    /// What it is called.
    pub(super) name: &'static str,
    /// How it counts.
    pub(super) counting: Counting,
}

/// Metres per kilogram of a yarn of `hank` yards to the pound.
const fn hanks(hank_yards: f64) -> Counting {
    Counting::PerKilogram(hank_yards * M_PER_YARD / KG_PER_POUND)
}

/// The systems, each with the words that name it.
const SYSTEMS: [(System, &[&str]); 8] = [
    (
        System {
            name: "cotton",
            counting: hanks(840.0),
        },
        &["cotton", "ne", "nec"],
    ),
    (
        System {
            name: "worsted",
            counting: hanks(560.0),
        },
        &["worsted", "new"],
    ),
    (
        System {
            name: "woollen run",
            counting: hanks(1600.0),
        },
        &["run", "runs"],
    ),
    (
        System {
            name: "linen lea",
            counting: hanks(300.0),
        },
        &["linen", "lea", "nel"],
    ),
    (
        System {
            name: "Nm",
            counting: Counting::PerKilogram(1000.0),
        },
        &["nm", "metric"],
    ),
    (
        System {
            name: "tex",
            counting: Counting::GramsPerMetres(1000.0),
        },
        &["tex"],
    ),
    (
        System {
            name: "dtex",
            counting: Counting::GramsPerMetres(10_000.0),
        },
        &["dtex", "decitex"],
    ),
    (
        System {
            name: "denier",
            counting: Counting::GramsPerMetres(9000.0),
        },
        &["denier", "den"],
    ),
];

/// Words that may stand beside a size without naming a system.
const SILENT: [&str; 13] = [
    "s",
    "'s",
    "'",
    "size",
    "count",
    "counts",
    "yarn",
    "mercerized",
    "mercerised",
    "woollen",
    "woolen",
    "ply",
    "r",
];

/// The system that `words` (small letters) name; `None` where they name none.
///
/// # Errors
///
/// Words that name two systems, or that mean nothing here.
pub(super) fn find_system(words: &str) -> Result<Option<System>, String> {
    let mut found: Option<System> = None;
    for word in words.split_whitespace() {
        let word = word.trim_matches(|c| matches!(c, '.' | ',' | '(' | ')' | '-'));
        if word.is_empty() || SILENT.contains(&word) {
            continue;
        }
        let named = SYSTEMS.iter().find(|(_, names)| names.contains(&word));
        match (named, found) {
            (Some((system, _)), None) => found = Some(*system),
            // "40/2 linen lea" and "8/2 cotton Ne" name one system twice.
            (Some((system, _)), Some(before)) if system.name == before.name => {}
            // "40/2 Nm linen" says the fibre beside the system.
            (Some((system, _)), Some(before)) => match fibre_beside(*system, before) {
                Some(counted) => found = Some(counted),
                None => {
                    return Err(format!(
                        "names two systems, {} and {}: keep the one it is counted in",
                        before.name, system.name
                    ));
                }
            },
            (None, _) => return Err(unknown(word)),
        }
    }
    Ok(found)
}

/// Of two named systems the one that counts, where the other is only the fibre's name.
fn fibre_beside(a: System, b: System) -> Option<System> {
    let fibre = |system: System| matches!(system.name, "cotton" | "worsted" | "linen lea");
    match (fibre(a), fibre(b)) {
        (true, false) if b.name != "woollen run" => Some(b),
        (false, true) if a.name != "woollen run" => Some(a),
        _ => None,
    }
}

fn unknown(word: &str) -> String {
    let shown = crate::units::quoted(word);
    match word {
        "wool" => "says wool, which is counted in two ways: write worsted (560 yd hanks), \
                   woollen run (1600 yd) or Nm"
            .to_owned(),
        _ => format!(
            "has the word '{shown}': sizes are counted in cotton, worsted, woollen run, linen \
             lea, Nm, tex, dtex, denier, yd/lb or m/kg"
        ),
    }
}
