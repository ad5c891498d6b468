//! Draws the lamp pulls of an evening class: six weavers, one plan, and a list of their names.
//!
//! `cargo run --example draw_class -- FOLDER`, then
//! `evenfell compare FOLDER/*.jpg --plan FOLDER/plan.json --scale dpi --names FOLDER/names.csv --out class`

use std::error::Error;
use std::path::PathBuf;

use evenfell::synth::{self, Stretch};

/// A weaver: name, colour of the weft, picks, unevenness, drift, draw-in, waviness left and right,
/// and whether she loosened her beat for a while.
type Weaver = (&'static str, [f64; 3], usize, f64, f64, f64, [f64; 2], bool);

const CLASS: [Weaver; 6] = [
    (
        "Ada",
        [0.11, 0.37, 0.42],
        70,
        0.030,
        0.00,
        0.070,
        [0.10, 0.12],
        false,
    ),
    (
        "Bo",
        [0.55, 0.21, 0.14],
        71,
        0.034,
        0.02,
        0.075,
        [0.16, 0.20],
        false,
    ),
    (
        "Cy",
        [0.68, 0.52, 0.16],
        62,
        0.075,
        0.03,
        0.090,
        [0.25, 0.30],
        true,
    ),
    (
        "Dee",
        [0.22, 0.26, 0.46],
        76,
        0.040,
        -0.20,
        0.080,
        [0.20, 0.18],
        false,
    ),
    (
        "Eli",
        [0.30, 0.40, 0.20],
        70,
        0.090,
        0.02,
        0.160,
        [0.30, 0.85],
        false,
    ),
    (
        "Fay",
        [0.46, 0.28, 0.38],
        70,
        0.050,
        0.00,
        0.072,
        [0.14, 0.13],
        true,
    ),
];

fn main() -> Result<(), Box<dyn Error>> {
    let folder = PathBuf::from(
        std::env::args()
            .nth(1)
            .ok_or("name a folder to draw into")?,
    );
    std::fs::create_dir_all(&folder)?;
    let mut names = String::from("photo,name\n");
    for (number, weaver) in (1..).zip(CLASS) {
        let (name, colour, picks, spacing_cv, drift, draw_in, waviness_mm, loose) = weaver;
        let (mut spec, mut camera) = synth::demo_band();
        spec.seed += number;
        camera.seed += number;
        spec.weft.colour = colour;
        spec.picks = picks;
        spec.pick_spacing_mm = 178.0 / picks as f64;
        (spec.spacing_cv, spec.drift) = (spacing_cv, drift);
        (spec.draw_in, spec.waviness_mm) = (draw_in, waviness_mm);
        spec.stretches.clear();
        spec.edge_marks.clear();
        spec.mis_woven.clear();
        if loose {
            spec.stretches.push(Stretch {
                from_mm: 95.0,
                to_mm: 120.0,
                factor: 1.25,
            });
        }
        let jpeg = camera.photograph(&synth::weave(&spec)).jpeg()?;
        std::fs::write(folder.join(format!("quay-{number}.jpg")), jpeg)?;
        names += &format!("quay-{number},{name}\n");
    }
    std::fs::write(folder.join("plan.json"), synth::DEMO_PLAN)?;
    std::fs::write(folder.join("names.csv"), names)?;
    Ok(())
}
