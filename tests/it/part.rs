//! A stretch of a longer piece: drawn bands that run out of the picture at one end or both.

use evenfell::geometry::Point;
use evenfell::measure::{Extent, Options, measure};
use evenfell::measurement::Measurement;
use evenfell::scale::{ScaleOptions, ScaleRequest, find_view};
use evenfell::synth::{self, Drawn, Photograph};

/// A drawn band whose photo is cut off, as shares of the picture at start and finish.
struct Cut {
    drawn: Drawn,
    photograph: Photograph,
    lies: bool,
}

impl Cut {
    fn new(seed: u64, (start, finish): (f64, f64)) -> Self {
        let spec = synth::random_spec(seed);
        let mut camera = synth::random_camera(seed, &spec);
        camera.curvature = 0.0;
        let lies = camera.band_angle.abs() < 1.0;
        camera.crop = if lies {
            [start, 0.0, finish, 0.0]
        } else {
            [0.0, finish, 0.0, start]
        };
        let drawn = synth::weave(&spec);
        let photograph = camera.photograph(&drawn);
        Self {
            drawn,
            photograph,
            lies,
        }
    }

    fn measured(&self, extent: Extent) -> Measurement {
        let photo = self.photograph.to_photo();
        let view = find_view(&photo, &ScaleRequest::Dpi, &ScaleOptions::default()).unwrap();
        let options = Options {
            extent,
            ..Options::default()
        };
        measure(
            &photo,
            &view,
            Some(&self.drawn.spec.plan()),
            &options,
            &mut (),
        )
        .unwrap()
    }

    /// True picks per inch and mean width of what is in view.
    fn truth(&self) -> (f64, f64) {
        let pixels = &self.photograph.pixels;
        let (w, h) = (f64::from(pixels.width()), f64::from(pixels.height()));
        let ends = if self.lies {
            [(0.0, 0.5 * h), (w, 0.5 * h)]
        } else {
            [(0.5 * w, h), (0.5 * w, 0.0)]
        };
        let s = ends.map(|(x, y)| {
            let px = Point::new(x - 0.5, y - 0.5);
            self.photograph.mapping.px_to_band(px, 0.0).unwrap().0
        });
        let truth = &self.drawn.truth;
        let seen: Vec<f64> = truth
            .pick_mm
            .iter()
            .copied()
            .filter(|p| (s[0]..s[1]).contains(p))
            .collect();
        let per_inch = 25.4 * (seen.len() - 1) as f64 / (seen[seen.len() - 1] - seen[0]);
        let outline = &truth.outline;
        let rows = outline.left_mm.iter().zip(&outline.right_mm).enumerate();
        let widths: Vec<f64> = rows
            .filter(|(row, _)| (s[0]..s[1]).contains(&(*row as f64 * outline.step_mm)))
            .map(|(_, (left, right))| left + right)
            .collect();
        (per_inch, widths.iter().sum::<f64>() / widths.len() as f64)
    }
}

#[test]
fn a_stretch_of_a_longer_piece_has_picks_per_inch_and_width_inside_their_intervals() {
    let cuts = [(0.25, 0.25), (0.3, 0.0), (0.0, 0.3)];
    let (mut picks_inside, mut width_inside, mut all) = (0, 0, 0);
    let mut off = Vec::new();
    for seed in 2001..2013 {
        let cut = Cut::new(seed, cuts[(seed % 3) as usize]);
        let m = cut.measured(Extent::Part);
        let (per_inch, width) = cut.truth();
        let (Some(picks), Some(across)) = (&m.picks, &m.width) else {
            off.push(format!("{seed}: {:?}", m.unmeasured));
            continue;
        };
        all += 1;
        let inside =
            |value: f64, q: evenfell::measurement::Quantity| (q.value - value).abs() <= q.u95;
        if inside(per_inch, picks.per_inch) {
            picks_inside += 1;
        } else {
            off.push(format!(
                "{seed}: {:?} picks per inch for {per_inch}",
                picks.per_inch
            ));
        }
        if inside(width, across.mean_mm) {
            width_inside += 1;
        } else {
            off.push(format!("{seed}: {:?} mm wide for {width}", across.mean_mm));
        }
        assert_eq!((picks.count, m.length_mm), (None, None), "{seed}");
        for what in ["count", "length"] {
            let why = &m.unmeasured.iter().find(|u| u.what == what).unwrap().why;
            assert!(why.contains("longer piece"), "{seed}: {why}");
        }
        assert!(
            m.warnings.iter().all(|w| w.code != "cropped"),
            "{seed}: {:?}",
            m.warnings
        );
    }
    assert!(all >= 10, "{all} of 12 measured: {off:#?}");
    assert!(
        picks_inside + 1 >= all && width_inside + 1 >= all,
        "{off:#?}"
    );
}

#[test]
fn without_being_told_a_band_that_runs_out_is_warned_of() {
    let m = Cut::new(2001, (0.25, 0.25)).measured(Extent::Whole);
    assert!(
        m.warnings.iter().any(|w| w.code == "cropped"),
        "{:?}",
        m.warnings
    );
    assert_eq!(m.length_mm, None);
}
