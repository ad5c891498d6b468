//! Draws random bands into a folder, each with its plan and its truth, to be looked at and measured.
//!
//! `cargo run --example draw_bands -- FOLDER [COUNT] [FIRST_SEED] [clean|faults|slips|phone]`

use std::error::Error;
use std::path::{Path, PathBuf};
use std::time::Instant;

use evenfell::synth::{self, Photograph, Side, Truth};
use serde_json::json;

fn main() -> Result<(), Box<dyn Error>> {
    let mut args = std::env::args().skip(1);
    let folder = PathBuf::from(args.next().ok_or("name a folder to draw into")?);
    let count: u64 = args.next().map_or(Ok(12), |n| n.parse())?;
    let first: u64 = args.next().map_or(Ok(1), |n| n.parse())?;
    let kind = args.next().unwrap_or_default();
    std::fs::create_dir_all(&folder)?;
    for seed in first..first + count {
        draw(&folder, seed, &kind)?;
    }
    Ok(())
}

fn draw(folder: &Path, seed: u64, kind: &str) -> Result<(), Box<dyn Error>> {
    let clean = synth::random_spec(seed);
    let spec = match kind {
        "faults" => synth::with_faults(clean),
        "slips" => synth::with_single_slips(clean),
        _ => clean,
    };
    let camera = match kind {
        "phone" => synth::random_phone_camera(seed, &spec),
        _ => synth::random_camera(seed, &spec),
    };
    let begin = Instant::now();
    let drawn = synth::weave(&spec);
    let woven = begin.elapsed();
    let photograph = camera.photograph(&drawn);
    let shot = begin.elapsed();
    let jpeg = photograph.jpeg()?;
    println!(
        "{seed:5}  {:?} {} rows, {} ends, {} picks at {:.1}/in, {:.0} dpi, {} x {} px: weave {:.3} s, photograph {:.3} s, jpeg {:.3} s",
        spec.face,
        spec.drawdown.rows(),
        spec.ends,
        spec.picks,
        drawn.truth.picks_per_inch,
        camera.dpi,
        photograph.pixels.width(),
        photograph.pixels.height(),
        woven.as_secs_f64(),
        (shot - woven).as_secs_f64(),
        (begin.elapsed() - shot).as_secs_f64(),
    );
    let name = format!("band_{seed:05}");
    std::fs::write(folder.join(format!("{name}.jpg")), jpeg)?;
    std::fs::write(folder.join(format!("{name}.plan.json")), spec.plan_json())?;
    std::fs::write(
        folder.join(format!("{name}.truth.json")),
        truth_json(&drawn.truth, &spec, &photograph),
    )?;
    Ok(())
}

/// The truth, lengths in mm from the start of the body, `t` to the weaver's right.
fn truth_json(truth: &Truth, spec: &synth::BandSpec, photograph: &Photograph) -> String {
    let side = |side: Side| match side {
        Side::Left => "left",
        Side::Right => "right",
    };
    let waviness = |values: &[f64]| {
        let (wq, wt) =
            synth::waviness_mm(values, truth.outline.step_mm, 25.4 / truth.picks_per_inch);
        json!({ "wq_mm": wq, "wt_mm": wt })
    };
    let place = |s: f64, t: f64| {
        let px = photograph.mapping.to_px(s, t, 0.0);
        [px.x, px.y]
    };
    let loose: Vec<_> = truth
        .stretches
        .iter()
        .filter(|stretch| stretch.factor > 1.0)
        .map(|stretch| json!([stretch.from_mm, stretch.to_mm, stretch.factor]))
        .collect();
    let pull: Vec<_> = truth
        .edge_marks
        .iter()
        .filter(|mark| mark.depth_mm > 0.0)
        .map(|mark| {
            json!([
                side(mark.side),
                mark.at_mm,
                mark.depth_mm,
                mark.half_width_mm
            ])
        })
        .collect();
    let value = json!({
        "picks": truth.pick_mm.len(),
        "length_mm": truth.length_mm,
        "ppi": truth.picks_per_inch,
        "pick_mm": truth.pick_mm,
        "rows": truth.rows,
        "spacing_cv": truth.spacing_cv_percent,
        "drift_percent": truth.drift_percent,
        "width_mm": truth.width_mm,
        "width_over_turns_mm": truth.over_turns_mm,
        "drawin_percent": truth.draw_in_percent,
        "edges": { "left": waviness(&truth.outline.left_mm), "right": waviness(&truth.outline.right_mm) },
        "points_px": [place(0.0, 0.0), place(truth.length_mm, 0.0)],
        "points_mm": truth.length_mm,
        "start_px": place(0.0, 0.0),
        "expect": "measure",
        "scale": "dpi",
        "planned_ppi": spec.plan().picks_per_inch,
        "face": format!("{:?}", spec.face),
        "errors": truth.mis_woven,
        "loose": loose,
        "pull": pull,
    });
    format!("{value:#}\n")
}
