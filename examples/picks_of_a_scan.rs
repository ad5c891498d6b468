//! File in, picks out: `cargo run --example picks_of_a_scan -- SCAN`.

use std::path::Path;

use evenfell::measure::{Options, measure};
use evenfell::photo::{PhotoOptions, open};
use evenfell::scale::{ScaleOptions, ScaleRequest, find_view};

fn main() -> evenfell::Result<()> {
    let file = std::env::args()
        .nth(1)
        .unwrap_or_else(|| "scan.jpg".to_owned());
    let photo = open(Path::new(&file), &PhotoOptions::default())?;
    let view = find_view(&photo, &ScaleRequest::Auto, &ScaleOptions::default())?;
    let result = measure(&photo, &view, None, &Options::default(), &mut ())?;
    for at_mm in result.picks.iter().flat_map(|picks| &picks.positions_mm) {
        println!("{at_mm:.2}");
    }
    Ok(())
}
