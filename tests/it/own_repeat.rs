//! Slips of the shed, told without a drawdown: against the cloth's own repeat.

use evenfell::measure::{Options, measure};
use evenfell::measurement::{Finding, FindingKind, Measurement};
use evenfell::plan::Plan;
use evenfell::scale::{ScaleOptions, ScaleRequest, find_view};
use evenfell::synth::{BandSpec, Camera, weave};

/// Plain weave with two ends that slipped together, and one by itself.
fn slipped(seed: u64) -> BandSpec {
    BandSpec {
        seed,
        mis_woven: vec![(17, 4), (17, 5), (38, 7)],
        ..clean(seed)
    }
}

fn clean(seed: u64) -> BandSpec {
    BandSpec {
        seed,
        ends: 9 + 2 * seed as usize,
        picks: 56 + seed as usize,
        ..BandSpec::default()
    }
}

fn measured(spec: &BandSpec, plan: Option<&Plan>) -> Measurement {
    let camera = Camera {
        seed: spec.seed,
        ..Camera::default()
    };
    let photo = camera.photograph(&weave(spec)).to_photo();
    let view = find_view(&photo, &ScaleRequest::Dpi, &ScaleOptions::default()).unwrap();
    measure(&photo, &view, plan, &Options::default(), &mut ()).unwrap()
}

fn mis_woven(m: &Measurement) -> Vec<&Finding> {
    let findings = m.findings.iter();
    findings
        .filter(|finding| finding.kind == FindingKind::MisWoven)
        .collect()
}

fn said_to_be_missing(m: &Measurement) -> Option<&str> {
    let part = m.unmeasured.iter().find(|u| u.what == "mis-woven picks");
    part.map(|part| part.why.as_str())
}

#[test]
fn slips_in_plain_weave_are_found_without_a_plan_in_their_pick_and_place() {
    for seed in 1..4 {
        let spec = slipped(seed);
        let m = measured(&spec, None);
        let found = mis_woven(&m);
        let picks: Vec<_> = found.iter().map(|f| f.pick).collect();
        assert_eq!(picks, [Some(18), Some(39)], "{seed}: {:?}", m.unmeasured);
        let width = m.width.as_ref().unwrap().mean_mm.value;
        for (finding, (first, last)) in found.iter().zip([(4.0, 5.0), (7.0, 7.0)]) {
            let pitch = width / spec.ends as f64;
            let [from, to] = finding.across_mm.unwrap();
            let drawn = [first * pitch, (last + 1.0) * pitch];
            let off = (from - drawn[0]).abs().max((to - drawn[1]).abs());
            assert!(off < 0.5 * pitch, "{seed}: {finding:?}, drawn at {drawn:?}");
            assert!(finding.text.contains("the cloth's own repeat"));
            assert!(!finding.text.contains("drawdown"));
        }
    }
}

#[test]
fn a_plan_without_a_drawdown_gives_the_ends_their_numbers() {
    let spec = slipped(1);
    let plan = Plan {
        drawdown: None,
        ..spec.plan()
    };
    let m = measured(&spec, Some(&plan));
    let found: Vec<_> = mis_woven(&m)
        .iter()
        .map(|f| (f.pick, f.ends.clone()))
        .collect();
    let drawn = [(Some(18), Some(vec![5, 6])), (Some(39), Some(vec![8]))];
    assert_eq!(found, drawn, "{:?}", m.unmeasured);
}

#[test]
fn nothing_is_invented_on_bands_without_slips() {
    for seed in 1..7 {
        let m = measured(&clean(seed), None);
        assert!(mis_woven(&m).is_empty(), "{seed}: {:?}", m.findings);
        assert_eq!(said_to_be_missing(&m), None, "{seed}");
    }
}
