//! A band still in the loom: a fell, and stretched warp beyond it.

use evenfell::measure::{Options, measure};
use evenfell::measurement::Measurement;
use evenfell::report::{Context, TextOptions, write_text};
use evenfell::scale::{ScaleOptions, ScaleRequest, find_view};
use evenfell::synth::{BandSpec, Camera, Fringe, weave};

/// A band with stretched warp at its finish, or at both ends, as long as the picture.
fn in_loom(seed: u64, both: bool) -> (Measurement, usize, f64) {
    let spec = BandSpec {
        seed,
        picks: 48 + 7 * seed as usize,
        spacing_cv: 0.03,
        weft_cover: 0.85,
        fringe: Fringe {
            taut_mm: [if both { 60.0 } else { 0.0 }, 60.0],
            ..BandSpec::default().fringe
        },
        ..BandSpec::default()
    };
    let drawn = weave(&spec);
    let camera = Camera {
        // The warp runs out of the picture.
        crop: [if both { 0.08 } else { 0.0 }, 0.0, 0.1, 0.0],
        seed,
        ..Camera::default()
    };
    let photo = camera.photograph(&drawn).to_photo();
    let view = find_view(&photo, &ScaleRequest::Dpi, &ScaleOptions::default()).unwrap();
    let plan = spec.plan();
    let mut m = measure(&photo, &view, Some(&plan), &Options::default(), &mut ()).unwrap();
    let options = &mut m.program.options;
    options.insert("state".to_owned(), "in-loom".into());
    (m, drawn.truth.pick_mm.len(), drawn.truth.length_mm)
}

#[test]
fn a_band_in_the_loom_is_counted_to_its_fell() {
    for (seed, both) in [(1, false), (2, true), (3, false), (4, true)] {
        let (m, picks, length) = in_loom(seed, both);
        let seen = m.picks.as_ref().unwrap();
        assert_eq!(
            seen.count,
            u32::try_from(picks).ok(),
            "{seed}: {:?}",
            m.warnings
        );
        let measured = m.length_mm.unwrap();
        assert!(
            (measured.value - length).abs() <= measured.u95,
            "{seed}: {measured:?} for {length}"
        );
        assert!(
            m.warnings.iter().all(|w| w.code != "cropped"),
            "{seed}: {:?}",
            m.warnings
        );
    }
}

#[test]
fn the_report_names_the_state_and_tells_draw_in_for_it() {
    let (mut m, _, _) = in_loom(1, false);
    let text = |m: &Measurement| {
        let mut out = Vec::new();
        let options = TextOptions { width: 200 };
        write_text(m, &Context::default(), options, &mut out).unwrap();
        String::from_utf8(out).unwrap()
    };
    let said = text(&m);
    for words in ["still in the loom", "more comes off it", "woven so far"] {
        assert!(said.contains(words), "{words}:\n{said}");
    }
    let options = &mut m.program.options;
    options.insert("state".to_owned(), "washed".into());
    let said = text(&m);
    assert!(
        said.contains("washed and dry") && said.contains("what washing took"),
        "{said}"
    );
}
