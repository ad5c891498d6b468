//! Draws the sample band that the program carries: `cargo run --example draw_demo`.

use std::error::Error;
use std::path::Path;

use evenfell::synth;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/demo");
    std::fs::create_dir_all(&folder)?;
    let (spec, camera) = synth::demo_band();
    let drawn = synth::weave(&spec);
    let jpeg = camera.photograph(&drawn).jpeg()?;
    println!(
        "{} bytes; {:.1} mm, {:.2} picks per inch",
        jpeg.len(),
        drawn.truth.length_mm,
        drawn.truth.picks_per_inch
    );
    println!(
        "cloth {:.2} mm thick, {:.2} mm wide",
        drawn.truth.thickness_mm, drawn.truth.width_mm
    );
    std::fs::write(folder.join("lamp_pull.jpg"), jpeg)?;
    std::fs::write(folder.join("lamp_pull.plan.json"), synth::DEMO_PLAN)?;
    Ok(())
}
