//! The sample band, measured, against what it was drawn with.

use evenfell::measure::{Options, measure};
use evenfell::measurement::{FindingKind, Measurement};
use evenfell::photo::{PhotoOptions, decode};
use evenfell::plan::Plan;
use evenfell::scale::{ScaleOptions, ScaleRequest, find_view};
use evenfell::synth;

const SCAN: &[u8] = include_bytes!("../../testdata/demo/lamp_pull.jpg");
const PLAN: &str = include_str!("../../testdata/demo/lamp_pull.plan.json");

fn measured() -> Measurement {
    let photo = decode(SCAN, "lamp_pull.jpg", &PhotoOptions::default()).unwrap();
    let view = find_view(&photo, &ScaleRequest::Dpi, &ScaleOptions::default()).unwrap();
    let plan = Plan::from_json(PLAN).unwrap();
    measure(&photo, &view, Some(&plan), &Options::default(), &mut ()).unwrap()
}

#[test]
fn the_sample_band_is_measured_as_it_was_drawn() {
    let truth = synth::weave(&synth::demo_band().0).truth;
    let m = measured();
    let (picks, width) = (m.picks.unwrap(), m.width.unwrap());
    let draw_in = m.draw_in_percent.unwrap();
    assert_eq!(
        picks.count.map(|count| count as usize),
        Some(truth.pick_mm.len())
    );
    for (name, q, true_value) in [
        ("picks per inch", picks.per_inch, truth.picks_per_inch),
        ("width", width.mean_mm, truth.width_mm),
        ("draw-in", draw_in, truth.draw_in_percent),
        (
            "width over the turns",
            width.over_turns_mm,
            truth.over_turns_mm,
        ),
        (
            "spacing CV",
            picks.spacing_cv_percent.unwrap(),
            truth.spacing_cv_percent,
        ),
        ("drift", m.beat.unwrap().drift_percent, truth.drift_percent),
        ("length", m.length_mm.unwrap(), truth.length_mm),
    ] {
        assert!(
            (q.value - true_value).abs() <= q.u95,
            "{name}: {q:?}, drawn {true_value}"
        );
    }
    let cells: Vec<(usize, usize)> = m
        .findings
        .iter()
        .filter(|finding| finding.kind == FindingKind::MisWoven)
        .flat_map(|finding| {
            let pick = finding.pick.unwrap() as usize - 1;
            finding
                .ends
                .clone()
                .unwrap()
                .into_iter()
                .map(move |end| (pick, end as usize - 1))
        })
        .collect();
    assert_eq!(cells, truth.mis_woven);
}
