//! How often is the program right on bands that were never looked at?

use super::sought::Faults;
use evenfell::band::StartEnd;
use evenfell::beat::{PickPlaces, split};
use evenfell::geometry::Point;
use evenfell::measure::{Options, measure};
use evenfell::measurement::{Beat, Measurement, Quantity};
use evenfell::photo::{PhotoOptions, decode};
use evenfell::scale::{ScaleOptions, ScaleRequest, TypedLength, find_view};
use evenfell::synth::{self, BandSpec, Camera, Photograph, Truth};

/// What is known of a band when it is measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Known {
    /// The whole plan.
    Plan,
    /// Nothing.
    Nothing,
}

/// One band's outcome.
#[derive(Clone, Debug)]
pub(crate) struct Outcome {
    /// Which band.
    pub(crate) seed: u64,
    /// Picks counted less picks woven; `None` where no count was given.
    pub(crate) off: Option<i64>,
    /// Whether the picks were warned of.
    pub(crate) warned: bool,
    /// Whether anything was warned of, or nothing counted.
    pub(crate) warned_at_all: bool,
    /// Each figure: its name, its error, its stated half-width.
    pub(crate) figures: Vec<(&'static str, f64, f64)>,
    /// What was woven wrong, and what of it was found.
    pub(crate) faults: Faults,
    /// Whether mis-woven picks are said to go unseen.
    pub(crate) slips_unseen: bool,
}

/// How a random band is woven.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Woven {
    /// As planned.
    Right,
    /// With a loose or tight stretch, a pulled-in selvedge, a slip of two ends, each on half of the bands.
    Faults,
    /// With two slips of single ends.
    Slips,
}

/// Draws a random band, photographs and measures it.
pub(crate) fn outcome(seed: u64, woven: Woven, known: Known) -> Outcome {
    let clean = synth::random_spec(seed);
    let spec = match woven {
        Woven::Right => clean,
        Woven::Faults => synth::with_faults(clean),
        Woven::Slips => synth::with_single_slips(clean),
    };
    photographed(&synth::random_camera(seed, &spec), &spec, known)
}

/// Weaves a band, photographs and measures it.
pub(crate) fn photographed(camera: &Camera, spec: &BandSpec, known: Known) -> Outcome {
    developed(camera, spec, known, Photograph::jpeg)
}

/// The same with the photo's file written as `develop` does.
pub(crate) fn developed<E>(
    camera: &Camera,
    spec: &BandSpec,
    known: Known,
    develop: impl Fn(&Photograph) -> Result<Vec<u8>, E>,
) -> Outcome {
    let drawn = synth::weave(spec);
    let photograph = camera.photograph(&drawn);
    let seed = spec.seed;
    let nothing = Outcome {
        seed,
        off: None,
        warned: true,
        warned_at_all: true,
        figures: Vec::new(),
        faults: Faults::all_missed(&drawn.truth),
        slips_unseen: true,
    };
    let file = develop(&photograph).ok();
    file.and_then(|file| measured(&file, &photograph, &drawn.truth, spec, known))
        .map_or(nothing, |m| judged(seed, &m, &drawn.truth))
}

/// The photo, measured with its scale from two known places.
fn measured(
    jpeg: &[u8],
    photograph: &Photograph,
    truth: &Truth,
    spec: &BandSpec,
    known: Known,
) -> Option<Measurement> {
    let photo = decode(jpeg, "drawn.jpg", &PhotoOptions::default()).ok()?;
    let place = |s: f64| photograph.mapping.to_px(s, 0.0, 0.0);
    let (from, to) = (place(0.0), place(truth.length_mm));
    let length = TypedLength {
        mm: truth.length_mm,
        u_mm: 0.02,
    };
    let request = ScaleRequest::Points { from, to, length };
    let view = find_view(&photo, &request, &ScaleOptions::default()).ok()?;
    let options = Options {
        start: Some(start(from, to)),
        ..Options::default()
    };
    let plan = (known == Known::Plan).then(|| spec.plan());
    measure(&photo, &view, plan.as_ref(), &options, &mut ()).ok()
}

/// The end of the picture that the band starts at.
fn start(from: Point, to: Point) -> StartEnd {
    let (x, y) = (to.x - from.x, to.y - from.y);
    match (x.abs() > y.abs(), x > 0.0, y > 0.0) {
        (true, true, _) => StartEnd::Left,
        (true, false, _) => StartEnd::Right,
        (false, _, true) => StartEnd::Top,
        (false, _, false) => StartEnd::Bottom,
    }
}

fn judged(seed: u64, m: &Measurement, truth: &Truth) -> Outcome {
    let picks = m.picks.as_ref();
    let count = picks.and_then(|p| p.count);
    let off = count.map(|n| i64::from(n) - truth.pick_mm.len() as i64);
    let doubts = [
        "count_unsure",
        "far_from_plan",
        "spacing_jumps",
        "picks_faint",
        "drawdown_unlike",
        "repeat_unplanned",
        "weave_unsure",
    ];
    let warned = count.is_none() || m.warnings.iter().any(|w| doubts.contains(&w.code.as_str()));
    let mut figures = Vec::new();
    let mut add = |name, q: Option<Quantity>, true_value: f64| {
        if let Some(q) = q {
            figures.push((name, q.value - true_value, q.u95));
        }
    };
    if off == Some(0) {
        add(
            "picks per inch",
            picks.map(|p| p.per_inch),
            truth.picks_per_inch,
        );
        add("length, mm", m.length_mm, truth.length_mm);
        let cv = picks.and_then(|p| p.spacing_cv_percent);
        add("spacing CV, %", cv, truth.spacing_cv_percent);
        let drift = m.beat.as_ref().map(|b| b.drift_percent);
        add("drift, %", drift, truth.drift_percent);
        if let Some((found, drawn)) = m.beat.as_ref().zip(true_beat(truth)) {
            let rhythm = found.rhythm_percent.zip(drawn.rhythm_percent);
            if let Some((found, drawn)) = rhythm {
                add("rhythm, %", Some(found), drawn.value);
            }
            let waves = found.waves_percent;
            add("waves, %", Some(waves), drawn.waves_percent.value);
            let scatter = found.scatter_percent;
            add("scatter, %", Some(scatter), drawn.scatter_percent.value);
        }
        let width = m.width.as_ref();
        add("width, mm", width.map(|w| w.mean_mm), truth.width_mm);
        let over = width.map(|w| w.over_turns_mm);
        add("width over the turns, mm", over, truth.over_turns_mm);
        add("draw-in, %", m.draw_in_percent, truth.draw_in_percent);
        if let Some(sides) = m.selvedges.as_ref() {
            let outline = &truth.outline;
            let pitch = truth.length_mm / truth.pick_mm.len() as f64;
            let wq = |edge: &[f64]| synth::waviness_mm(edge, outline.step_mm, pitch).0;
            add(
                "selvedge Wq, mm",
                Some(sides.left.wq_mm),
                wq(&outline.left_mm),
            );
            add(
                "selvedge Wq, mm",
                Some(sides.right.wq_mm),
                wq(&outline.right_mm),
            );
        }
    }
    Outcome {
        seed,
        off,
        warned,
        warned_at_all: warned || !m.warnings.is_empty(),
        figures,
        faults: Faults::new(m, truth),
        slips_unseen: m.unmeasured.iter().any(|u| u.what.contains("mis-woven")),
    }
}

/// The beat of the drawn places by cause, as it is defined.
fn true_beat(truth: &Truth) -> Option<Beat> {
    let rows = truth.rows.iter().max().map_or(0, |last| last + 1);
    let exact = vec![0.0; truth.pick_mm.len()];
    split(&PickPlaces {
        centres_mm: truth.pick_mm.clone(),
        noise_u_mm: exact.clone(),
        own_u_mm: exact.clone(),
        centre_u_mm: exact,
        rows: Some((truth.rows.clone(), rows)),
        ..PickPlaces::default()
    })
}

/// One figure over many bands.
#[derive(Clone, Debug)]
pub(crate) struct Rate {
    /// The figure and its unit.
    pub(crate) name: &'static str,
    /// How many values.
    pub(crate) values: usize,
    /// How many lie inside their stated interval.
    pub(crate) inside: usize,
    /// Median of the error's size.
    pub(crate) median: f64,
    /// Nine in ten errors are smaller.
    pub(crate) nine_in_ten: f64,
}

/// The figures of all bands, in the order in which they first appear.
pub(crate) fn rates(outcomes: &[Outcome]) -> Vec<Rate> {
    let all: Vec<(&str, f64, f64)> = outcomes.iter().flat_map(|o| o.figures.clone()).collect();
    let mut names: Vec<&'static str> = Vec::new();
    for (name, ..) in outcomes.iter().flat_map(|o| o.figures.iter()) {
        if !names.contains(name) {
            names.push(name);
        }
    }
    names
        .into_iter()
        .map(|name| {
            let own: Vec<_> = all.iter().filter(|f| f.0 == name).collect();
            let mut errors: Vec<f64> = own.iter().map(|f| f.1.abs()).collect();
            errors.sort_by(f64::total_cmp);
            let at =
                |share: f64| errors[((share * errors.len() as f64) as usize).min(errors.len() - 1)];
            Rate {
                name,
                values: own.len(),
                inside: own.iter().filter(|f| f.1.abs() <= f.2).count(),
                median: at(0.5),
                nine_in_ten: at(0.9),
            }
        })
        .collect()
}
