//! The pages that people look at: their structure, and what every page must keep.

use evenfell::compare::{CompareOptions, Comparison, Sample, compare};
use evenfell::findings::verdict_sentences;
use evenfell::measurement::{Measurement, Quantity};
use evenfell::plan::LengthUnits;
use evenfell::report::{
    BandPicture, ClassBand, Context, Overlay, Strip, write_class_html, write_html,
};
use image::{Rgb, RgbImage};

use crate::page_rules::{assert_kept, named, of_class, text, tree};
use crate::sample;

/// A straight band of stripes as long as the hand-made bookmark, and a photo of nothing.
fn pictures() -> (RgbImage, Overlay) {
    let stripes = RgbImage::from_fn(900, 440, |x, y| {
        Rgb([if x / 12 % 2 == 0 { 30 } else { 200 }, (y % 200) as u8, 90])
    });
    let overlay = Overlay {
        left: Vec::new(),
        right: Vec::new(),
        selvedges_seen: true,
        cloth_all_over: false,
        body_ends: None,
        picks: Vec::new(),
        strip: Strip {
            picture: stripes,
            mm_per_px: 0.1,
            from_mm: -15.0,
            left_mm: -22.0,
        },
    };
    (RgbImage::new(300, 200), overlay)
}

/// The page of the hand-made bookmark, with pictures.
fn page() -> String {
    let (measurement, plan) = (sample::measurement(), sample::plan());
    let verdict = verdict_sentences(&measurement, Some(&plan));
    let context = Context {
        plan: Some(&plan),
        verdict: &verdict,
        units: None,
    };
    let (photo, overlay) = pictures();
    let mut out = Vec::new();
    write_html(&measurement, &context, Some((&photo, &overlay)), &mut out).unwrap();
    String::from_utf8(out).unwrap()
}

#[test]
fn the_page_of_a_result_keeps_the_rules_with_and_without_pictures() {
    assert_kept(&page());
    for keep_most in [true, false] {
        let mut measurement = sample::measurement();
        if !keep_most {
            measurement.beat = None;
            measurement.picks = None;
            measurement.width = None;
        }
        let mut out = Vec::new();
        write_html(&measurement, &Context::default(), None, &mut out).unwrap();
        assert_kept(str::from_utf8(&out).unwrap());
    }
}

#[test]
fn the_story_of_a_band_comes_in_order() {
    let page = page();
    let tree = tree(&page);
    let headings: Vec<String> = named(&tree, "h2").into_iter().map(text).collect();
    assert_eq!(
        headings,
        [
            "Found",
            "Against the plan",
            "Figures",
            "Doubts, and what couldn't be measured",
            "The beat by cause",
            "Drawdown as woven",
            "The photo, with what was found drawn on it",
            "How the scale was known",
            "How the photo could be better"
        ]
    );
    let first = &named(&tree, "figure")[0];
    assert!(
        first.attribute("class") == Some("along"),
        "the band itself comes first"
    );
    let caption = text(*first);
    assert!(caption.contains("times as large as the band"), "{caption}");
}

#[test]
fn every_finding_is_marked_on_the_band_and_has_a_close_up_that_says_what_it_is() {
    let page = page();
    let tree = tree(&page);
    let findings = sample::measurement().findings;
    let wide = of_class(&tree, "wide")[0];
    for number in 1..=findings.len() {
        let flag = wide.descendants().any(|node| {
            node.attribute("font-weight") == Some("bold") && text(node) == number.to_string()
        });
        assert!(flag, "{number} isn't marked");
    }
    let list = of_class(&tree, "found")[0];
    let items: Vec<_> = list
        .children()
        .filter(|node| node.has_tag_name("li"))
        .collect();
    assert_eq!(items.len(), findings.len());
    for (item, finding) in items.iter().zip(&findings) {
        let close_up = item
            .descendants()
            .find(|node| node.tag_name().name() == "svg")
            .unwrap();
        let words = close_up
            .children()
            .find(|node| node.tag_name().name() == "desc");
        assert_eq!(words.map(text), Some(finding.text.clone()));
        let has = |name: &str| {
            close_up
                .children()
                .any(|node| node.tag_name().name() == name)
        };
        assert!(has("image") && has("path"), "a picture with a mark on it");
    }
}

#[test]
fn the_beat_has_a_picture_for_each_cause_at_one_scale() {
    let page = page();
    let tree = tree(&page);
    let causes = of_class(&tree, "causes")[0];
    let names: Vec<String> = causes
        .descendants()
        .filter(|node| node.has_tag_name("h3"))
        .map(text)
        .collect();
    let beginnings = ["drift", "rhythm by row", "waves", "scatter"];
    assert_eq!(names.len(), beginnings.len());
    for (name, begin) in names.iter().zip(beginnings) {
        assert!(name.starts_with(begin) && name.contains('\u{b1}'), "{name}");
    }
    let ends: Vec<String> = causes
        .descendants()
        .filter(|node| node.tag_name().name() == "text")
        .map(|node| text(node).trim().to_owned())
        .filter(|word| word.starts_with('+'))
        .collect();
    assert_eq!(ends.len(), 4);
    assert!(ends.iter().all(|end| *end == ends[0]), "{ends:?}");
}

#[test]
fn a_verdict_is_a_word_and_not_only_a_colour() {
    let page = page();
    let tree = tree(&page);
    for (class, word) in [
        ("within", "within"),
        ("outside", "outside"),
        ("unsure", "cannot tell"),
    ] {
        let cells = of_class(&tree, class);
        assert!(!cells.is_empty(), "{class}");
        assert!(cells.into_iter().all(|cell| text(cell) == word), "{class}");
    }
}

/// The hand-made bookmark as another weaver's: her name, spacing CV and picks per inch.
fn band(name: &str, cv: f64, per_inch: f64) -> Sample {
    let mut measurement = sample::measurement();
    measurement.photo.file = format!("{name}.png");
    measurement.photo.sha256 = format!("{name:0>64}");
    if let Some(picks) = &mut measurement.picks {
        picks.spacing_cv_percent = Some(Quantity {
            value: cv,
            u95: 0.4,
        });
        picks.per_inch.value = per_inch;
    }
    Sample {
        name: name.to_owned(),
        measurement,
        plan: Some(sample::plan()),
    }
}

fn class(options: CompareOptions) -> (Vec<Sample>, Comparison) {
    let samples = vec![
        band("Ada <of the quay>", 9.0, 10.1),
        band("Bo", 3.0, 10.0),
        band("Cy", 9.2, 12.4),
    ];
    let comparison = compare(&samples, options).unwrap();
    (samples, comparison)
}

/// The page of a class, the second band with a picture.
pub(crate) fn class_page(options: CompareOptions) -> String {
    let (samples, comparison) = class(options);
    let (_, overlay) = pictures();
    let picture = BandPicture::new(&overlay.strip, &samples[1].measurement).unwrap();
    let bands: Vec<ClassBand<'_>> = samples
        .iter()
        .enumerate()
        .map(|(index, sample)| ClassBand {
            measurement: &sample.measurement,
            plan: sample.plan.as_ref(),
            picture: (index == 1).then_some(&picture),
        })
        .collect();
    let mut out = Vec::new();
    write_class_html(&comparison, &bands, LengthUnits::Inches, &mut out).unwrap();
    String::from_utf8(out).unwrap()
}

#[test]
fn the_page_of_a_class_keeps_the_rules() {
    for options in [
        CompareOptions::default(),
        CompareOptions {
            in_order: true,
            same_band: false,
        },
        CompareOptions {
            in_order: false,
            same_band: true,
        },
    ] {
        assert_kept(&class_page(options));
    }
}

#[test]
fn bands_that_cannot_be_told_apart_are_held_by_a_bracket() {
    let page = class_page(CompareOptions::default());
    let tree = tree(&page);
    let beat = named(&tree, "svg")
        .into_iter()
        .find(|node| {
            let labels = node.attribute("aria-labelledby").unwrap_or_default();
            labels.starts_with("by-beat-wide")
        })
        .unwrap();
    let words: Vec<String> = beat
        .descendants()
        .filter(|node| node.tag_name().name() == "text")
        .map(|node| text(node).trim().to_owned())
        .collect();
    for word in ["1", "2\u{2013}3", "Bo", "Cy"] {
        assert!(
            words.iter().any(|other| other == word),
            "{word} in {words:?}"
        );
    }
    let thick = |node: &roxmltree::Node<'_, '_>| {
        node.tag_name().name() == "path" && node.attribute("stroke-width") == Some("2")
    };
    assert_eq!(
        beat.descendants().filter(thick).count(),
        1,
        "one tie, one bracket"
    );
}

#[test]
fn every_weaver_has_a_slip_with_her_band_and_one_thing_to_work_on() {
    let page = class_page(CompareOptions::default());
    let tree = tree(&page);
    let (_, comparison) = class(CompareOptions::default());
    let slips = of_class(&tree, "slip");
    assert_eq!(slips.len(), 3);
    for (slip, sample) in slips.iter().zip(&comparison.samples) {
        let name = slip.descendants().find(|node| node.has_tag_name("h3"));
        assert_eq!(name.map(text), Some(sample.name.clone()));
        let shown = slip
            .descendants()
            .find(|node| node.tag_name().name() == "use")
            .and_then(|node| node.attribute("href"))
            .unwrap();
        let there = tree
            .descendants()
            .any(|node| node.attribute("id") == shown.strip_prefix('#'));
        assert!(there, "{shown} is on the page");
        let parts: Vec<String> = slip
            .descendants()
            .filter(|node| node.has_tag_name("h4"))
            .map(text)
            .collect();
        assert_eq!(parts, ["Went well", "The one thing to work on", "Measured"]);
        let said = sample.work_on.as_deref().unwrap_or("keep on like this");
        let said = &said[said.len().saturating_sub(20)..];
        assert!(text(*slip).contains(said), "{said}");
    }
    let one_band = class_page(CompareOptions {
        in_order: false,
        same_band: true,
    });
    assert!(of_class(&self::tree(&one_band), "slip").is_empty());
}

#[test]
fn one_weavers_progress_is_drawn_only_in_order() {
    let drawn = |options| {
        let page = class_page(options);
        let tree = tree(&page);
        named(&tree, "h2")
            .into_iter()
            .map(text)
            .any(|h| h == "Over time")
    };
    assert!(!drawn(CompareOptions::default()));
    assert!(drawn(CompareOptions {
        in_order: true,
        same_band: false,
    }));
}

#[test]
fn a_band_of_which_nothing_was_measured_is_named_and_not_drawn() {
    let (mut samples, _) = class(CompareOptions::default());
    let emptied = |measurement: &mut Measurement| {
        measurement.length_mm = None;
        measurement.picks = None;
        measurement.width = None;
        measurement.selvedges = None;
        measurement.beat = None;
    };
    samples.iter_mut().for_each(|s| emptied(&mut s.measurement));
    let comparison = compare(&samples, CompareOptions::default()).unwrap();
    let bands: Vec<ClassBand<'_>> = samples
        .iter()
        .map(|sample| ClassBand {
            measurement: &sample.measurement,
            plan: None,
            picture: None,
        })
        .collect();
    let mut out = Vec::new();
    write_class_html(&comparison, &bands, LengthUnits::Centimetres, &mut out).unwrap();
    let page = String::from_utf8(out).unwrap();
    assert_kept(&page);
    assert!(
        page.contains("Ada &lt;of the quay&gt; can't be drawn"),
        "{page}"
    );
}

#[test]
fn absurd_figures_make_a_page_and_no_endless_drawing() {
    let mut samples = vec![
        band("Ada", 9.0, 10.1),
        band("Bo", 3.0, 10.0),
        band("Cy", 1e300, 1e-300),
    ];
    let q = |value| Some(Quantity { value, u95: 1e299 });
    let absurd = &mut samples[2].measurement;
    absurd.length_mm = q(1e300);
    if let Some(width) = &mut absurd.width {
        width.profile.left_mm = vec![1e308; width.profile.at_mm.len()];
    }
    let huge = &mut samples[1].measurement;
    huge.length_mm = q(4e4);
    if let Some(picks) = &mut huge.picks {
        picks.positions_mm = (0..100_000).rev().map(f64::from).collect();
    }
    for in_order in [false, true] {
        let options = CompareOptions {
            in_order,
            same_band: false,
        };
        let comparison = compare(&samples, options).unwrap();
        let bands: Vec<ClassBand<'_>> = samples
            .iter()
            .map(|sample| ClassBand {
                measurement: &sample.measurement,
                plan: sample.plan.as_ref(),
                picture: None,
            })
            .collect();
        let mut out = Vec::new();
        write_class_html(&comparison, &bands, LengthUnits::Inches, &mut out).unwrap();
        assert_kept(str::from_utf8(&out).unwrap());
        assert!(out.len() < 5_000_000, "{} bytes", out.len());
    }
}
