//! What a person puts right on the sample band, and what becomes of the figures.

use std::fs;

use evenfell::Error;
use evenfell::corrections::{BodyEnds, Corrections, LinePlace, SelvedgeLine};
use evenfell::measure::{Looked, Options, look, measure_looked};
use evenfell::measurement::{FindingKind, Measurement, Side};
use evenfell::photo::{Photo, PhotoOptions, decode};
use evenfell::plan::Plan;
use evenfell::scale::{ScaleOptions, ScaleRequest, View, find_view};
use tempfile::TempDir;

use crate::program::run;

const SCAN: &[u8] = include_bytes!("../../testdata/demo/lamp_pull.jpg");
const PLAN: &str = include_str!("../../testdata/demo/lamp_pull.plan.json");
const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/testdata/demo/lamp_pull.jpg");
const DEMO_PLAN: &str = concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/testdata/demo/lamp_pull.plan.json"
);

/// The sample band, looked at once; each test puts right a copy.
struct Sample {
    photo: Photo,
    view: View,
    plan: Plan,
    looked: Looked,
}

impl Sample {
    fn new() -> Self {
        let photo = decode(SCAN, "lamp_pull.jpg", &PhotoOptions::default()).unwrap();
        let view = find_view(&photo, &ScaleRequest::Dpi, &ScaleOptions::default()).unwrap();
        let plan = Plan::from_json(PLAN).unwrap();
        let looked = look(&photo, &view, Some(&plan), &Options::default(), &mut ()).unwrap();
        Self {
            photo,
            view,
            plan,
            looked,
        }
    }

    fn with(&self, corrections: &Corrections) -> Result<Measurement, Error> {
        let options = Options {
            corrections: corrections.clone(),
            ..Options::default()
        };
        let (plan, looked) = (Some(&self.plan), self.looked.clone());
        measure_looked(&self.photo, &self.view, plan, &options, looked)
            .map(|measured| measured.measurement)
    }

    fn own(&self) -> Measurement {
        self.with(&Corrections::default()).unwrap()
    }
}

fn body(from_mm: Option<f64>, to_mm: Option<f64>) -> Corrections {
    Corrections {
        body: BodyEnds { from_mm, to_mm },
        ..Corrections::default()
    }
}

fn count(m: &Measurement) -> u32 {
    m.picks.as_ref().unwrap().count.unwrap()
}

fn says_so(m: &Measurement) -> bool {
    m.corrections.is_some() && m.warnings.iter().any(|w| w.code == "put_right")
}

#[test]
fn without_a_correction_the_result_says_nothing_of_any() {
    let sample = Sample::new();
    let own = sample.own();
    assert!(!says_so(&own));
    assert!(!serde_json::to_string(&own).unwrap().contains("corrections"));
}

#[test]
fn a_body_set_by_hand_moves_count_length_and_places_and_carries_a_hands_doubt() {
    let sample = Sample::new();
    let own = sample.own();
    let places = &own.picks.as_ref().unwrap().positions_mm;
    // Between the 5th and the 6th pick, and between the 66th and the 67th.
    let from = 0.5 * (places[4] + places[5]);
    let to = 0.5 * (places[65] + places[66]);
    let changed = sample.with(&body(Some(from), Some(to))).unwrap();
    assert!(says_so(&changed));
    assert_eq!(count(&changed), 61);
    let length = changed.length_mm.unwrap();
    assert!((length.value - (to - from)).abs() < 1e-9, "{length:?}");
    // Two ends by hand, ± 0.6 mm each.
    assert!(length.u95 > 0.8, "{length:?}");
    let (a, b) = (
        changed.picks.as_ref().unwrap().per_inch,
        own.picks.as_ref().unwrap().per_inch,
    );
    assert!(a.u95 > b.u95);
    let true_density = 61.0 * 25.4 / (places[65] - places[5] + (places[65] - places[5]) / 60.0);
    assert!(
        (a.value - true_density).abs() < a.u95,
        "{a:?} {true_density}"
    );
    // The first pick that is left now lies half a spacing from the new start.
    let first = changed.picks.as_ref().unwrap().positions_mm[0];
    assert!((first - (places[5] - from)).abs() < 0.1, "{first}");
    let profile = &changed.width.as_ref().unwrap().profile.at_mm;
    assert!(profile[profile.len() - 1] < to - from);
}

#[test]
fn a_body_cut_within_a_pick_is_more_doubtful_than_one_cut_between_two() {
    let sample = Sample::new();
    let places = sample.own().picks.unwrap().positions_mm;
    let between = sample.with(&body(Some(0.5 * (places[4] + places[5])), None));
    let within = sample.with(&body(Some(places[4] + 0.1), None));
    let (between, within) = (between.unwrap(), within.unwrap());
    let (a, b) = (within.length_mm.unwrap(), between.length_mm.unwrap());
    // Half a spacing off, 1.2 mm, must lie in it.
    assert!(a.u95 > 1.2 && a.u95 > 1.3 * b.u95, "{a:?} {b:?}");
    let dense = within.picks.unwrap().per_inch;
    let usual = between.picks.unwrap().per_inch;
    assert!(
        (dense.value - usual.value).abs() < dense.u95,
        "{dense:?} {usual:?}"
    );
}

#[test]
fn a_body_dragged_over_the_header_counts_its_picks() {
    let sample = Sample::new();
    let own = sample.own();
    let changed = sample
        .with(&body(None, Some(own.length_mm.unwrap().value + 2.4)))
        .unwrap();
    assert_eq!(count(&changed), count(&own) + 1);
}

#[test]
fn a_pick_taken_out_and_a_pick_put_in_are_counted() {
    let sample = Sample::new();
    let own = sample.own();
    let places = own.picks.as_ref().unwrap().positions_mm.clone();
    let deleted = sample
        .with(&Corrections {
            deleted_picks: vec![41],
            ..Corrections::default()
        })
        .unwrap();
    assert!(says_so(&deleted));
    assert_eq!(count(&deleted), 70);
    // The mis-woven pick is the one that was taken out.
    let mis_woven = |m: &Measurement| {
        m.findings
            .iter()
            .any(|finding| finding.kind == FindingKind::MisWoven)
    };
    assert!(mis_woven(&own) && !mis_woven(&deleted));
    let inserted = sample
        .with(&Corrections {
            deleted_picks: vec![41],
            inserted_picks_mm: vec![places[40] + 0.1],
            ..Corrections::default()
        })
        .unwrap();
    assert_eq!(count(&inserted), 71);
    let picks = inserted.picks.as_ref().unwrap();
    assert!((picks.positions_mm[40] - places[40] - 0.1).abs() < 1e-6);
    assert!(
        picks.positions_u95_mm[40] > 0.58,
        "a hand is good to 0.6 mm"
    );
    let (by_hand, own_cv) = (
        picks.spacing_cv_percent.unwrap(),
        own.picks.as_ref().unwrap().spacing_cv_percent.unwrap(),
    );
    assert!(by_hand.u95 > own_cv.u95, "{by_hand:?} {own_cv:?}");
}

#[test]
fn the_outermost_pick_taken_out_moves_the_bodys_end() {
    let sample = Sample::new();
    let own = sample.own();
    let changed = sample
        .with(&Corrections {
            deleted_picks: vec![1],
            ..Corrections::default()
        })
        .unwrap();
    let shorter = own.length_mm.unwrap().value - changed.length_mm.unwrap().value;
    assert!((shorter - 2.4).abs() < 0.5, "{shorter}");
    assert!(changed.length_mm.unwrap().u95 > own.length_mm.unwrap().u95);
}

#[test]
fn a_selvedge_is_sought_again_along_a_line_or_set_on_it() {
    let sample = Sample::new();
    let own = sample.own();
    let profile = own.width.as_ref().unwrap().profile.clone();
    let middle = profile.right_mm.iter().sum::<f64>() / profile.right_mm.len() as f64;
    let line = |out_mm: f64, within_mm| Corrections {
        selvedges: vec![SelvedgeLine {
            side: Side::Right,
            within_mm,
            line: [50.0, 70.0]
                .map(|at_mm| LinePlace { at_mm, out_mm })
                .to_vec(),
        }],
        ..Corrections::default()
    };
    let between = |m: &Measurement, from: f64, to: f64| -> Vec<f64> {
        let profile = &m.width.as_ref().unwrap().profile;
        let inside = profile.at_mm.iter().zip(&profile.right_mm);
        inside
            .filter(|(at, _)| (from..to).contains(*at))
            .map(|(_, out)| *out)
            .collect()
    };
    // A corridor about the true selvedge finds what was found before, but for a weft turn's valley.
    let again = sample.with(&line(middle, 1.5)).unwrap();
    assert!(says_so(&again));
    let (a, b) = (between(&again, 51.0, 69.0), between(&own, 51.0, 69.0));
    let off: f64 = a.iter().zip(&b).map(|(a, b)| (a - b).abs()).sum::<f64>() / a.len() as f64;
    let shift = a.iter().zip(&b).map(|(a, b)| a - b).sum::<f64>() / a.len() as f64;
    assert!(off < 0.22 && shift.abs() < 0.1, "{off} {shift}");
    assert_eq!(between(&again, 71.0, 90.0), between(&own, 71.0, 90.0));
    // A corridor in the bare ground holds no edge: the line itself stands.
    let set = sample.with(&line(middle + 4.0, 0.5)).unwrap();
    for out in between(&set, 51.0, 69.0) {
        assert!((out - middle - 4.0).abs() <= 0.5 + 0.06, "{out}");
    }
    let wq = |m: &Measurement| m.selvedges.as_ref().unwrap().right.wq_mm.u95;
    assert!(wq(&again) > wq(&own));
    let (wide, usual) = (again.width.unwrap().mean_mm, own.width.unwrap().mean_mm);
    assert!(wide.u95 > usual.u95, "{wide:?} {usual:?}");
}

#[test]
fn what_lies_off_the_band_is_refused_with_words() {
    let sample = Sample::new();
    let line = |at: [f64; 2], out_mm: f64| Corrections {
        selvedges: vec![SelvedgeLine {
            side: Side::Left,
            within_mm: 1.0,
            line: at.map(|at_mm| LinePlace { at_mm, out_mm }).to_vec(),
        }],
        ..Corrections::default()
    };
    for (corrections, says) in [
        (body(Some(-40.0), None), "off the band"),
        (body(None, Some(400.0)), "off the band"),
        (
            body(Some(179.9), None),
            "lies off the band|the start comes first",
        ),
        (line([400.0, 420.0], 17.0), "off the band"),
        (line([40.0, 60.0], 90.0), "runs off the picture"),
        (
            Corrections {
                photo_sha256: Some("00".repeat(32)),
                deleted_picks: vec![3],
                ..Corrections::default()
            },
            "another photo",
        ),
    ] {
        match sample.with(&corrections) {
            Err(error) => {
                assert_eq!(error.exit_code(), 2);
                let words = error.to_string();
                assert!(says.split('|').any(|says| words.contains(says)), "{words}");
            }
            // So short a body holds no pick: what can't be measured is said.
            Ok(m) => assert!(m.unmeasured.iter().any(|part| part.what == "picks")),
        }
    }
}

#[test]
fn the_command_line_takes_corrections_from_a_file_and_says_what_was_changed() {
    let dir = TempDir::new().unwrap();
    let file = dir.path().join("quay.corrections.json");
    let text = r#"{ "schema": "evenfell/corrections/1", "deleted_picks": [41] }"#;
    fs::write(&file, text).unwrap();
    let file = file.to_str().unwrap();
    let run = |words: &[&str]| {
        let measure = ["measure", DEMO, "--plan", DEMO_PLAN, "--scale", "dpi"];
        run(&[&measure[..], words].concat())
    };
    let (code, out, err) = run(&["--corrections", file, "--body", "10..", "--format", "json"]);
    assert_eq!(code, 0, "{err}");
    let m: Measurement = serde_json::from_str(&out).unwrap();
    let made = m.corrections.unwrap();
    assert_eq!(
        (made.deleted_picks, made.body.from_mm),
        (vec![41], Some(10.0))
    );
    assert!(m.picks.unwrap().count.unwrap() < 68);
    let (code, out, _) = run(&["--corrections", file]);
    let one_line = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(code, 0);
    assert!(
        one_line.contains("put right by hand: pick 41 taken out"),
        "{out}"
    );
    for (words, says) in [
        (&["--body", "30..10"][..], "the start comes first"),
        (&["--body", "wide"], "FROM..TO"),
        (&["--body", "-500..10"], "off the band"),
        (&["--corrections", DEMO_PLAN], "unknown field"),
        (&["--corrections", "nowhere.json"], "nowhere.json"),
        (&["--body", "3..", DEMO], "one photo at a time"),
    ] {
        let (code, out, err) = run(words);
        assert_eq!((code, out.as_str()), (2, ""), "{words:?}: {err}");
        assert!(err.contains(says), "{words:?}: {err}");
    }
}
