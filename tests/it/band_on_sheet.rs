//! Bands on the printed sheet, photographed by a phone: from the picture to every figure.

use evenfell::geometry::Point;
use evenfell::measure::{Options, measure};
use evenfell::measurement::{Measurement, Quantity, ScaleMethod};
use evenfell::photo::Photo;
use evenfell::plan::Plan;
use evenfell::scale::{ScaleOptions, ScaleRequest, TypedLength, find_view};
use evenfell::sheet::{Ground, Paper};
use evenfell::synth::{BandSpec, Rng, Truth, YarnLook, weave};
use rayon::prelude::*;

use super::sheet_camera::{Phone, Sheet, shoot};

/// Where picks of drawn plain weave show, as a share of the cloth's thickness: what is seen of a
/// round yarn lies below its crown.
const SEEN: f64 = 0.65;

/// A plain-woven band of that length, its yarn dark for white paper or light for grey.
fn band(seed: u64, length_mm: f64, ground: Ground) -> BandSpec {
    let mut rng = Rng::fork(seed, 5);
    let spacing = rng.between(1.8, 3.0);
    let width = rng.between(22.0, 46.0);
    let dark = [[0.16, 0.34, 0.55], [0.6, 0.13, 0.16], [0.22, 0.21, 0.21]];
    let colour = match ground {
        Ground::White => *rng.choose(&dark),
        Ground::Grey => [0.86, 0.80, 0.68],
    };
    BandSpec {
        seed,
        pick_spacing_mm: spacing,
        picks: picks(length_mm, spacing),
        width_in_loom_mm: width,
        ends: picks(width, rng.between(2.2, 3.4)),
        weft_cover: rng.between(0.7, 0.95),
        flatness: rng.between(0.6, 0.9),
        drift: rng.between(-0.06, 0.06),
        weft: YarnLook {
            colour,
            ..YarnLook::default()
        },
        ..BandSpec::default()
    }
}

fn picks(length_mm: f64, spacing_mm: f64) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "some tens"
    )]
    let count = (length_mm / spacing_mm).round() as usize;
    count
}

fn known_bar() -> ScaleOptions {
    ScaleOptions {
        print_bar: Some(TypedLength::parse("100.00mm").unwrap()),
        ..ScaleOptions::default()
    }
}

/// One photo of one band.
struct Shot {
    name: String,
    spec: BandSpec,
    phone: Phone,
    photo: Photo,
    truth: Truth,
}

impl Shot {
    fn take(spec: BandSpec, phone: Phone, sheet: &Sheet) -> Self {
        let (photo, drawn) = shoot(&spec, &phone, sheet);
        Self {
            name: format!("band {} by phone {}", spec.seed, phone.seed),
            truth: drawn.truth,
            spec,
            phone,
            photo,
        }
    }

    fn measured(&self, plan: &Plan) -> Measurement {
        let view = find_view(&self.photo, &ScaleRequest::Auto, &known_bar()).unwrap();
        measure(&self.photo, &view, Some(plan), &Options::default(), &mut ()).unwrap()
    }
}

/// Phones of 3 megapixels, each over another band: both papers, both grounds, every way up. The
/// bands leave `beside_mm` of the page's length free.
fn shots(seeds: std::ops::Range<u64>, beside_mm: f64) -> Vec<Shot> {
    let kinds = [
        (Paper::A4, Ground::White),
        (Paper::Letter, Ground::White),
        (Paper::A4, Ground::Grey),
    ];
    let sheets = kinds.map(|(paper, ground)| Sheet::new(paper, ground));
    seeds
        .into_par_iter()
        .map(|seed| {
            let k = usize::try_from(seed % 3).unwrap();
            let (page, _) = kinds[k].0.size_mm();
            let phone = Phone {
                size: (2048, 1536),
                ..Phone::any(seed)
            };
            Shot::take(band(seed, page - beside_mm, kinds[k].1), phone, &sheets[k])
        })
        .collect()
}

fn first_to_last(at: &[f64]) -> f64 {
    at[at.len() - 1] - at[0]
}

/// The figures of a measurement beside what was drawn.
fn figures(m: &Measurement, truth: &Truth) -> [(&'static str, Quantity, f64); 4] {
    let (picks, width) = (m.picks.as_ref().unwrap(), m.width.as_ref().unwrap());
    [
        ("picks per inch", picks.per_inch, truth.picks_per_inch),
        ("length", m.length_mm.unwrap(), truth.length_mm),
        ("width", width.mean_mm, truth.width_mm),
        ("over turns", width.over_turns_mm, truth.over_turns_mm),
    ]
}

#[test]
fn every_pick_is_counted_and_lengths_and_intervals_hold_at_any_tilt_and_turn() {
    let (mut held, mut all) = (0, 0);
    let mut missed = Vec::new();
    for shot in shots(100..112, 170.0) {
        let (name, truth) = (&shot.name, &shot.truth);
        let mut plan = shot.spec.plan();
        plan.thickness_mm = plan.thickness_mm.map(|mm| SEEN * mm);
        let m = shot.measured(&plan);
        let picks = m.picks.as_ref().unwrap();
        assert_eq!(picks.positions_mm.len(), truth.pick_mm.len(), "{name}");
        let off = first_to_last(&picks.positions_mm) / first_to_last(&truth.pick_mm) - 1.0;
        let tilt = shot.phone.tilt.to_degrees();
        let most = if tilt > 20.0 { 0.004 } else { 0.002 };
        assert!(off.abs() < most, "{name}: {off:.4}");
        let seen = m.scale.camera_tilt_degrees;
        assert!((seen - tilt).abs() < 2.0, "{name}: {seen}° for {tilt}°");
        // With the whole thickness stated, and with none.
        for thickness_mm in [shot.spec.plan().thickness_mm, None] {
            let plan = Plan {
                thickness_mm,
                ..shot.spec.plan()
            };
            for (what, q, true_value) in figures(&shot.measured(&plan), truth) {
                all += 1;
                if (q.value - true_value).abs() <= q.u95 {
                    held += 1;
                } else {
                    missed.push(format!("{name}: {what} {q:?}, {true_value}"));
                }
            }
        }
    }
    assert!(100 * held >= 92 * all, "{held} of {all}: {missed:#?}");
}

#[test]
fn a_band_over_the_short_sides_markers_is_measured_to_both_its_ends() {
    let mut exact = 0;
    for shot in shots(100..106, 57.0) {
        let m = shot.measured(&shot.spec.plan());
        let found = m.picks.as_ref().unwrap().positions_mm.len();
        let drawn = shot.truth.pick_mm.len();
        // An end that lies on a marker may cost its pick, but not without a word.
        let warned = m.warnings.iter().any(|w| w.code == "count_unsure");
        assert!(
            found == drawn || (found.abs_diff(drawn) == 1 && warned),
            "{}: {found} of {drawn}",
            shot.name
        );
        exact += usize::from(found == drawn);
        assert!(m.length_mm.is_some(), "{}", shot.name);
    }
    assert!(exact >= 5, "{exact} of 6");
}

#[test]
fn start_and_sides_follow_the_sheets_mark_whichever_way_the_photo_is_turned() {
    let sheet = Sheet::new(Paper::A4, Ground::White);
    let spec = BandSpec {
        drift: 0.25,
        taper: 0.12,
        ..band(7, 120.0, Ground::White)
    };
    let pi = std::f64::consts::PI;
    for roll in [0.0, 0.5 * pi, pi, -0.5 * pi] {
        let phone = Phone {
            roll,
            size: (2048, 1536),
            ..Phone::default()
        };
        let shot = Shot::take(spec.clone(), phone, &sheet);
        let m = shot.measured(&spec.plan());
        let drift = m.beat.as_ref().unwrap().drift_percent;
        // Read from its finish the band would drift by −24 %. One pick more or fewer at an end, which
        // is warned of, changes it by 4.
        assert!(
            (drift.value - shot.truth.drift_percent).abs() < 6.0,
            "turned {roll}: {drift:?}"
        );
        let left = &m.width.as_ref().unwrap().profile.left_mm;
        let (near, far) = (left[left.len() / 10], left[left.len() * 9 / 10]);
        assert!(near > far, "turned {roll}: the band narrows to its finish");
    }
}

#[test]
fn a_weavers_own_word_on_the_start_comes_before_the_sheets() {
    let sheet = Sheet::new(Paper::A4, Ground::White);
    let spec = BandSpec {
        drift: 0.25,
        ..band(7, 100.0, Ground::White)
    };
    let (photo, drawn) = shoot(
        &spec,
        &Phone {
            size: (2048, 1536),
            ..Phone::default()
        },
        &sheet,
    );
    let view = find_view(&photo, &ScaleRequest::Sheet, &known_bar()).unwrap();
    assert_eq!(view.start_direction, Some(Point::new(-1.0, 0.0)));
    let options = Options {
        start: Some(evenfell::band::StartEnd::Right),
        ..Options::default()
    };
    let turned = measure(&photo, &view, Some(&spec.plan()), &options, &mut ()).unwrap();
    let drift = turned.beat.unwrap().drift_percent.value;
    assert!((drift + drawn.truth.drift_percent).abs() < 4.0, "{drift}");
}

#[test]
fn the_program_takes_the_sheet_as_scale_by_itself() {
    let spec = band(101, 140.0, Ground::Grey);
    let sheet = Sheet::new(Paper::A4, Ground::Grey);
    let phone = Phone {
        size: (2048, 1536),
        ..Phone::any(101)
    };
    let drawn = weave(&spec);
    let dir = tempfile::tempdir().unwrap();
    let [photo, plan] = ["quay.jpg", "quay.plan.json"].map(|name| dir.path().join(name));
    let jpeg = phone.over(&sheet).photograph(&drawn).jpeg().unwrap();
    std::fs::write(&photo, jpeg).unwrap();
    std::fs::write(&plan, spec.plan_json()).unwrap();
    let run = |more: &[&str]| {
        crate::program::evenfell()
            .arg("measure")
            .arg(&photo)
            .arg("--plan")
            .arg(&plan)
            .args(more)
            .output()
            .unwrap()
    };
    let output = run(&["--format", "json"]);
    let m: Measurement = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(m.scale.method, ScaleMethod::Sheet);
    let count = m.picks.unwrap().count.map(|n| n as usize);
    assert_eq!(count, Some(drawn.truth.pick_mm.len()));
    // Nobody said how long the check bar came out: the doubt of printers is in it, and is said.
    assert!(
        m.warnings.iter().any(|w| w.text.contains("check bar")),
        "{:?}",
        m.warnings
    );
    let text = String::from_utf8(run(&["--print-bar", "100.0mm"]).stdout).unwrap();
    assert!(text.contains("tilt") && text.contains("marker"), "{text}");
}
