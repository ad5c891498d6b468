//! How deep may the hollow between two weft turns be?
//!
//! A turn is an arch of one yarn, about as high as it is broad: on drawn selvedges, pulled-in ones among
//! them, the bottom of a hollow lay within 1.5 picks' spacings of the tops beside it (the level that
//! a fifth of the rows exceed) in 99 of 100. What runs in farther goes through cloth of the ground's colour.

/// How far to either side the tops are sought, picks.
const BESIDE_PICKS: f64 = 3.0;
/// Share of the rows there that the tops' level leaves below it.
const TOPS: f64 = 0.8;
/// Greatest depth of a hollow: so many picks' spacings, and what a pull or a wave adds, mm.
const DEEPEST: (f64, f64) = (1.4, 0.5);
/// Rows of a window that are looked at, and rows of a window that one level serves for.
const LOOKED_AT: usize = 60;

/// For each row of a path (columns run outward) the innermost column that a hollow reaches.
pub(super) fn innermost(path: &[usize], pitch_mm: f64, step_mm: f64) -> Vec<usize> {
    let samples = |mm: f64| (mm / step_mm).round().max(1.0) as usize;
    let reach = samples(BESIDE_PICKS * pitch_mm);
    let depth = samples(DEEPEST.0 * pitch_mm + DEEPEST.1);
    let every = (2 * reach / LOOKED_AT).max(1);
    let level = |i: usize| {
        let around = &path[i.saturating_sub(reach)..(i + reach + 1).min(path.len())];
        let mut tops: Vec<usize> = around.iter().copied().step_by(every).collect();
        let at = ((tops.len() - 1) as f64 * TOPS) as usize;
        *tops.select_nth_unstable(at).1
    };
    let mut innermost = Vec::with_capacity(path.len());
    for i in (0..path.len()).step_by(every) {
        let column = level(i).saturating_sub(depth);
        innermost.resize((i + every).min(path.len()), column);
    }
    innermost
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_hollows_of_turns_are_left_and_a_way_through_the_cloth_is_not() {
        // Samples of 0.1 mm, picks of 2 mm: turns stand out by 2 mm; from row 300 on a way runs 6 mm in.
        let path: Vec<usize> = (0..400)
            .map(|i| match i {
                300..310 => 40,
                _ if i % 40 < 20 => 100,
                _ => 80,
            })
            .collect();
        let innermost = innermost(&path, 2.0, 0.1);
        assert_eq!(innermost.len(), path.len());
        for (i, (p, least)) in path.iter().zip(&innermost).enumerate() {
            assert_eq!(p < least, (300..310).contains(&i), "row {i}: {p}, {least}");
        }
    }
}
