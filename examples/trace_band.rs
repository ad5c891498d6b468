//! Shows what the outline stage sees: `trace_band PHOTO PX_PER_MM OUT_DIR [LOOM_WIDTH_MM]`.

use std::error::Error;
use std::path::{Path, PathBuf};

use evenfell::band::{BandHint, BandOptions, trace_band};
use evenfell::measurement::ScaleMethod;
use evenfell::photo::{PhotoOptions, open};
use evenfell::scale::View;
use evenfell::stages::Stages;

/// Writes every stage's picture into a folder.
struct Folder(PathBuf);

impl Stages for Folder {
    fn watching(&self) -> bool {
        true
    }

    fn show(&mut self, name: &str, picture: &image::RgbImage) {
        if let Err(error) = picture.save(self.0.join(format!("{name}.png"))) {
            eprintln!("{name}: {error}");
        }
    }
}

fn main() -> Result<(), Box<dyn Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [file, px_per_mm, out, rest @ ..] = args.as_slice() else {
        return Err("trace_band PHOTO PX_PER_MM OUT_DIR [LOOM_WIDTH_MM]".into());
    };
    let scale: f64 = px_per_mm.parse()?;
    std::fs::create_dir_all(out)?;
    let photo = open(Path::new(file), &PhotoOptions::default())?;
    let view = View::level((scale, scale), 0.003, ScaleMethod::Dpi);
    let hint = BandHint {
        loom_width_mm: rest.first().map(|w| w.parse()).transpose()?,
        ..BandHint::default()
    };
    let mut folder = Folder(out.into());
    let began = std::time::Instant::now();
    let trace = trace_band(&photo, &view, &hint, &BandOptions::default(), &mut folder)?;
    let took = began.elapsed();
    let step = trace.straight.step_mm;
    let s = |i: usize| trace.straight.s0_mm + i as f64 * step;
    let on_cloth: Vec<usize> = (0..trace.left_mm.len())
        .filter(|&i| s(i) >= trace.cloth_mm.0 && s(i) <= trace.cloth_mm.1)
        .collect();
    let width = on_cloth
        .iter()
        .map(|&i| trace.right_mm[i] - trace.left_mm[i])
        .sum::<f64>()
        / on_cloth.len().max(1) as f64;
    println!(
        "{file}: width {width:.3} mm, cloth {:.2}..{:.2} = {:.2} mm (u {:.2}/{:.2}), runs out {:?}, {:.0} ms",
        trace.cloth_mm.0,
        trace.cloth_mm.1,
        trace.cloth_mm.1 - trace.cloth_mm.0,
        trace.cloth_u_mm.0,
        trace.cloth_u_mm.1,
        trace.runs_out,
        1e3 * took.as_secs_f64()
    );
    for warning in &trace.warnings {
        println!("  {}: {}", warning.code, warning.text);
    }
    Ok(())
}
