//! What every place has in common with its neighbours, taken out.
//!
//! Three errors don't show in the scatter between halves of the width, for all columns share them:
//!
//! * **Each drawdown row's own offset.** The learnt repeat says how the cloth looks at a phase, not
//!   where in that phase a row's yarn has its middle. A row's mean offset from the even run of
//!   the picks around it is taken out: a rhythm that the structure gives to the spacing, the same in
//!   every repeat, goes with it. (Reading the offset from the repeat itself was tried twice: from the borders between
//!   cells of weft and warp, and by shifting each row's cells on those of the others. On 150 drawn bands such shifts
//!   erred by as much, 0.017 of a spacing, as the rows truly lie off.)
//! * **Each place in a stripe's own offset.** Where two wefts take turns, what is seen of the first and the last pick
//!   of a stripe ends elsewhere than between two picks of one colour (light yarn outshines dark, and the repeat was
//!   learnt on both). Picks whose own colour and neighbours' colours are the same lie off by the same; what they have in
//!   common against a straight line through the picks around them is taken out. On 236 striped drawn bands the
//!   places' error falls from 0.048 to 0.040 of a spacing (mean), and where the weft hides the warp by half. Stripes of
//!   one pick by turns lose the rhythm that unlike yarns give them, as rows do.
//! * **Where neighbours touch.** What is seen of a pick ends where the next one begins, midway
//!   between the two middles; so a pick that is placed by itself seems to give way to its nearer neighbour, by a share of
//!   the second difference of the middles. On drawn bands of two unlike renderers, 50 bands in all, that
//!   share was 0.08 to 0.33, median 0.19. Picks that are placed together hardly give way (`together`); [`GIVE`] is
//!   taken off where only picks that were placed by themselves can say how oddly they lie.
//!
//! **The end picks** have a neighbour on one side only, and what lies beyond them is fringe or header: their
//! places are several times as doubtful as the others'. Each is drawn towards where the gaps beside it put it, as
//! far as its own doubt and the spread of the gaps from pick to pick say; a gap that clearly differs mostly stays.

use crate::stats::gaps;

/// Share of the second difference by which a pick's seen middle gives way to its neighbours.
pub(crate) const GIVE: f64 = 0.18;

/// No pick gives way by more than this share of the gap to its nearer neighbour: where picks are hardly seen,
/// undoing more would only make their noise larger, and set them out of order.
const MOST_GIVEN: f64 = 0.2;

/// Standard uncertainty of the share of the second difference by which a pick's place still gives way to its neighbours.
pub(crate) const GIVE_U: f64 = 0.08;

/// Gaps near an end that say where its pick would lie on an even beat.
const GAPS_BESIDE_END: usize = 4;

/// Fewest picks that say how much gaps differ.
const LEAST_TO_STEADY: usize = 10;

/// How often an end pick's seen place is off, and how far, in gaps, beyond what its own noise says: mostly
/// a little, now and then by as much as fringe or header mislead. From 670 bands of two unlike renderers.
const END_ERRORS: [(f64, f64); 3] = [(0.8, 0.015), (0.16, 0.08), (0.04, 0.2)];

/// Root mean square of [`END_ERRORS`].
const END_ERROR: f64 = 0.053;

/// Hands beat no evener than so, in gaps.
const LEAST_SPREAD: f64 = 0.03;

/// How far an end's gap truly differs, in gaps, beyond the spread from pick to pick, and how often: the pick
/// that nothing was beaten against lies slack now and then.
const END_GAPS: [(f64, f64); 3] = [(0.88, 0.0), (0.1, 0.2), (0.02, 0.6)];

/// Draws both end picks towards where the gaps beside them put them; `u` is one standard uncertainty of
/// each place without [`END_ERRORS`], and comes out with what is left of them; `noise_u` is what of it is noise.
///
/// With both ends drawn by all of `u`, which holds much that neighbours share, drift was off by 0.40 points at the
/// median and 1.6 nine times in ten on 650 drawn bands, by 0.73 and 1.1 on ten photos of another renderer; by the noise alone it is
/// 0.25 and 1.2, 0.20 and 0.6.
pub(crate) fn steady_ends(places: &mut [f64], u: &mut [f64], noise_u: &[f64]) {
    let mut noise_u = noise_u.to_vec();
    steady_first(places, u, &noise_u);
    // The same at the other end, seen from there.
    let turned = |places: &mut [f64]| {
        places.reverse();
        places.iter_mut().for_each(|place| *place = -*place);
    };
    turned(places);
    u.reverse();
    noise_u.reverse();
    steady_first(places, u, &noise_u);
    turned(places);
    u.reverse();
}

/// [`steady_ends`] for the first pick.
fn steady_first(places: &mut [f64], u: &mut [f64], noise_u: &[f64]) {
    if places.len() < 2 || u.len() != places.len() || noise_u.len() != places.len() {
        return;
    }
    if places.len() < LEAST_TO_STEADY {
        u[0] = u[0].hypot(END_ERROR * (places[1] - places[0]));
        return;
    }
    let gaps = gaps(&places[1..places.len() - 1]);
    // An independent error of a place stands in the difference of two gaps with weights 1, −2, 1.
    let changes = gaps.windows(2).zip(&noise_u[2..]).map(|(pair, u)| {
        let change = pair[1] - pair[0];
        0.5 * change * change - 3.0 * u * u
    });
    let spread = changes.sum::<f64>() / (gaps.len() - 1) as f64;
    let beside = &gaps[..GAPS_BESIDE_END];
    let even = beside.iter().sum::<f64>() / beside.len() as f64;
    let spread = spread.max((LEAST_SPREAD * even).powi(2));
    let expected = spread * (1.0 + 1.0 / beside.len() as f64);
    let off = places[1] - places[0] - even;
    let own = noise_u[0] * noise_u[0] + noise_u[1] * noise_u[1];
    // Each kind of error with each kind of gap: how likely is what was seen, and what would the gap then be?
    let (mut all, mut mean, mut square) = (0.0, 0.0, 0.0);
    for (errors, error) in END_ERRORS {
        for (ends, slack) in END_GAPS {
            let doubt = own + (error * even).powi(2);
            let expected = expected + (slack * even).powi(2);
            let total = doubt + expected;
            let weight = errors * ends * (-0.5 * off * off / total).exp() / total.sqrt();
            let kept = expected / total * off;
            all += weight;
            mean += weight * kept;
            square += weight * (kept * kept + doubt * expected / total);
        }
    }
    // Farther off than any of them: the picture is believed.
    if all > 0.0 {
        mean /= all;
        places[0] = places[1] - even - mean;
        u[0] = (square / all - mean * mean).max(0.0).sqrt().hypot(u[1]);
    }
}

/// Takes out of `places` each row's mean offset from the even run of the picks around it.
pub(crate) fn level_rows(places: &mut [f64], row_of: &[usize], rows: usize) {
    let n = places.len();
    if rows < 2 || n < 3 * rows {
        return;
    }
    let half = rows.div_ceil(2);
    let mut sums = vec![(0.0, 0.0f64); rows];
    for i in half..n - half {
        if let Some(even) = even_run(places, i, rows) {
            sums[row_of[i]].0 += places[i] - even;
            sums[row_of[i]].1 += 1.0;
        }
    }
    let mut offsets: Vec<f64> = sums
        .iter()
        .map(|(s, n)| if *n > 0.0 { s / n } else { 0.0 })
        .collect();
    let mean = offsets.iter().sum::<f64>() / rows as f64;
    offsets.iter_mut().for_each(|o| *o -= mean);
    for (place, row) in places.iter_mut().zip(row_of) {
        *place -= offsets[*row];
    }
}

/// Picks on each side that say where a pick would lie on a straight line.
const AROUND: usize = 3;

/// Fewest picks of a kind whose offset is known.
const LEAST_OF_A_KIND: usize = 3;

/// Each kind's offset moves the line that the others are held against: so many rounds, of so much of what is seen.
const STRIPE_ROUNDS: usize = 4;
const STRIPE_STEP: f64 = 0.8;

/// Takes out of `places` what picks of the same place in a stripe have in common: their own colour and
/// their neighbours'. `rarer` says of each pick whether its weft is the rarer of two.
pub(crate) fn level_stripes(places: &mut [f64], rarer: &[bool]) {
    let n = places.len();
    if n < 2 * AROUND + 1 || rarer.len() != n || rarer.iter().all(|r| *r == rarer[0]) {
        return;
    }
    let colour = |k: usize| usize::from(rarer[k]);
    let kind = |k: usize| {
        let (before, after) = (k.saturating_sub(1), (k + 1).min(n - 1));
        4 * colour(before) + 2 * colour(k) + colour(after)
    };
    let inner = AROUND..n - AROUND;
    for _ in 0..STRIPE_ROUNDS {
        let mut sums = [(0.0, 0.0); 8];
        for k in inner.clone() {
            // Neighbours as far on each side: the mean of a straight line through them is its value here.
            let around: f64 = (1..=AROUND).map(|d| places[k - d] + places[k + d]).sum();
            let sum = &mut sums[kind(k)];
            sum.0 += places[k] - around / (2 * AROUND) as f64;
            sum.1 += 1.0;
        }
        let known = |sum: &&(f64, f64)| sum.1 >= LEAST_OF_A_KIND as f64;
        let all: f64 = sums.iter().filter(known).map(|sum| sum.0).sum();
        let count: f64 = sums.iter().filter(known).map(|sum| sum.1).sum();
        if count <= 0.0 {
            return;
        }
        let offsets = sums.map(|sum| match known(&&sum) {
            true => STRIPE_STEP * (sum.0 / sum.1 - all / count),
            false => 0.0,
        });
        for (k, place) in places.iter_mut().enumerate() {
            *place -= offsets[kind(k)];
        }
    }
}

/// Mean of one whole repeat of places around pick `i`: no row's offset is left in it.
fn even_run(places: &[f64], i: usize, rows: usize) -> Option<f64> {
    let reach = rows / 2;
    let from = i.checked_sub(reach)?;
    if i + reach >= places.len() {
        return None;
    }
    let window = &places[from..=i + reach];
    let sum: f64 = window.iter().sum();
    Some(if rows % 2 == 1 {
        sum / rows as f64
    } else {
        (sum - 0.5 * (window[0] + window[window.len() - 1])) / rows as f64
    })
}

/// Second difference at each place; 0 at the two ends.
pub(crate) fn second_differences(places: &[f64]) -> Vec<f64> {
    let n = places.len();
    (0..n)
        .map(|i| {
            if i == 0 || i + 1 == n {
                0.0
            } else {
                places[i - 1] - 2.0 * places[i] + places[i + 1]
            }
        })
        .collect()
}

/// From a place to the nearer of its neighbours; 0 where they are out of order.
fn nearest_gap(places: &[f64], i: usize) -> f64 {
    let before = i.checked_sub(1).map(|k| places[i] - places[k]);
    let after = places.get(i + 1).map(|next| next - places[i]);
    before
        .into_iter()
        .chain(after)
        .fold(f64::INFINITY, f64::min)
        .max(0.0)
}

/// The middles whose seen places, giving way to their neighbours, are `seen`.
pub(crate) fn undo_give(seen: &[f64]) -> Vec<f64> {
    let mut places = seen.to_vec();
    // The fixed point of place = seen − GIVE · D²(place): GIVE is well under ½, so that it settles.
    for _ in 0..12 {
        let bend = second_differences(&places);
        for i in 0..places.len() {
            let most = MOST_GIVEN * nearest_gap(seen, i);
            places[i] = seen[i] - (GIVE * bend[i]).clamp(-most, most);
        }
    }
    places
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn picks_that_give_way_are_put_back() {
        let places: Vec<f64> = (0..30)
            .map(|i| f64::from(i) * 2.5 + 0.2 * f64::from(i * i % 7))
            .collect();
        let bend = second_differences(&places);
        let seen: Vec<f64> = places
            .iter()
            .zip(&bend)
            .map(|(p, b)| p + GIVE * b)
            .collect();
        for (back, place) in undo_give(&seen).iter().zip(&places) {
            assert!((back - place).abs() < 2e-3, "{back} {place}");
        }
    }

    #[test]
    fn rows_that_lie_off_by_a_constant_are_levelled() {
        let rows: Vec<usize> = (0..40).map(|i| i % 4).collect();
        let off = [0.1, -0.2, 0.05, 0.05];
        let mut places: Vec<f64> = rows
            .iter()
            .enumerate()
            .map(|(i, r)| i as f64 + off[*r])
            .collect();
        level_rows(&mut places, &rows, 4);
        for i in 1..places.len() {
            assert!((places[i] - places[i - 1] - 1.0).abs() < 1e-9);
        }
    }

    #[test]
    fn the_first_and_last_pick_of_a_stripe_are_put_back() {
        let rarer: Vec<bool> = (0..44).map(|k| k % 11 >= 5).collect();
        let off = |k: usize| match k % 11 {
            4 | 5 => 0.3,
            10 | 0 => -0.3,
            _ => 0.0,
        };
        let mut places: Vec<f64> = (0..44).map(|k| 2.0 * (k as f64 + off(k))).collect();
        level_stripes(&mut places, &rarer);
        for pair in places[1..43].windows(2) {
            assert!((pair[1] - pair[0] - 2.0).abs() < 0.1, "{places:?}");
        }
        let even = places.clone();
        level_stripes(&mut places, &[false; 44]);
        assert_eq!(places, even);
    }

    #[test]
    fn an_end_pick_in_doubt_follows_the_gaps_beside_it_and_a_slack_one_stays() {
        let even: Vec<f64> = (0..20)
            .map(|i| f64::from(i) * 2.0 + if i % 2 == 0 { 0.02 } else { 0.0 })
            .collect();
        let mut noise_u = vec![0.01; 20];
        noise_u[0] = 0.2;
        let mut u: Vec<f64> = noise_u.iter().map(|noise| noise + 0.01).collect();
        let mut places = even.clone();
        (places[0], places[19]) = (even[0] - 0.25, even[19] + 1.2);
        let before = places.clone();
        steady_ends(&mut places, &mut u, &noise_u);
        assert!((places[0] - even[0]).abs() < 0.12, "{places:?}");
        assert!((places[19] - before[19]).abs() < 0.3, "{places:?}");
        assert_eq!(places[1..19], before[1..19]);
        assert!(u[0] > 0.02 && u[0] < 0.15 && u[19] > u[0], "{u:?}");
    }

    #[test]
    fn picks_that_are_hardly_seen_stay_in_order() {
        let seen = [0.0, 1.3, 1.6, 2.9, 3.2, 4.5, 4.8];
        let places = undo_give(&seen);
        for n in 1..seen.len() {
            assert!(
                places[n] - places[n - 1] >= 0.59 * (seen[n] - seen[n - 1]),
                "{places:?}"
            );
        }
    }
}
