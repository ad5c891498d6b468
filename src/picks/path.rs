//! The most likely path of states through samples whose distance to every state is known (Viterbi).
//!
//! # Method
//! States are cyclic; from one sample to the next a path goes on by 0 to 4 of them. The worth of the
//! best path up to each state is carried on from sample to sample, with the way that led there, and
//! the path is read back from the last sample's best state. Several states are worked on at once: first the
//! best advances, then the jumps, which are the same for all states at one phase of their pick.

use ndarray::Array2;

use super::phase::STATES_A_PICK;

/// Log-probability of advancing by 0, 1, 2, 3, 4 states: about a 12 % spread of spacing over a pick.
const ADVANCE: [f32; 5] = [-3.9, -1.7, -0.5, -1.7, -3.9];

/// How many independent values one sample's row of columns is worth: neighbouring columns and
/// samples see the same yarns.
const ROW_WORTH: f64 = 6.0;

/// A sample can cost at most about this many times the typical one.
const COST_CAP: f32 = 6.0;

/// Cost of going on with another row than the next one (a row left out, doubled or out of turn). A
/// mis-woven cell or two never outweighs it; a pick that is wholly another row does.
const JUMP_COST: f32 = 60.0;

/// After so many samples the worths are counted from the best one again: in `f32` they stay exact to a
/// thousandth that way.
const RECOUNT: usize = 32;

/// Samples of which more is known than how they look.
#[derive(Clone, Debug, Default)]
pub(super) struct Pins {
    /// Whether each sample is one; fewer than there are samples: the rest aren't.
    pub(super) at: Vec<bool>,
    /// What each state costs there.
    pub(super) costs: Vec<f32>,
}

impl Pins {
    /// Those among the samples of a range.
    pub(super) fn within(&self, range: (usize, usize)) -> Self {
        Self {
            at: self.at.get(range.0..range.1).unwrap_or_default().to_vec(),
            costs: self.costs.clone(),
        }
    }
}

/// Most states that one sample may advance by.
const MOST_ADVANCE: usize = ADVANCE.len() - 1;

/// The path of states through the samples whose distances to each state are `d`, shape (samples,
/// states), and its cost a sample; `trust` says how far each sample counts, `pins` cost what they say.
/// With `jumps` the rows may go on out of turn, at a price.
pub(super) fn best_path(
    d: &Array2<f32>,
    trust: &[f64],
    pins: &Pins,
    jumps: bool,
) -> (Vec<usize>, f64) {
    let (n, states) = d.dim();
    let typical = typical_distance(d);
    let cost = |i: usize, costs: &mut [f32]| {
        let worth = (0.5 * ROW_WORTH * trust[i]) as f32;
        let row = d.row(i);
        costs_of(
            row.to_slice().unwrap_or_default(),
            typical as f32,
            worth,
            costs,
        );
        if pins.at.get(i) == Some(&true) {
            for (cost, pinned) in costs.iter_mut().zip(&pins.costs) {
                *cost += pinned;
            }
        }
    };
    let mut costs = vec![0.0; states];
    cost(0, &mut costs);
    let mut front = Front::new(costs.iter().map(|cost| -cost));
    let mut back = Array2::<u8>::zeros((n, states));
    // At each sample the best row for each phase of a pick, where jumps are allowed.
    let mut best_rows = Vec::new();
    for i in 1..n {
        cost(i, &mut costs);
        front.look_back();
        if jumps {
            let rows = best_row(front.worth());
            front.look_over(&rows);
            best_rows.push(rows);
        }
        let back = back.row_mut(i).into_slice().unwrap_or_default();
        for (back, way) in back.iter_mut().zip(&front.way) {
            *back = *way as u8;
        }
        front.go_on(&costs);
        if i % RECOUNT == 0 {
            front.recount();
        }
    }
    let best = front.worth();
    let mut k = (0..states)
        .max_by(|&a, &b| best[a].total_cmp(&best[b]))
        .unwrap_or(0);
    let total = -(front.counted + f64::from(best[k])) / n as f64;
    let mut path = vec![k];
    for i in (1..n).rev() {
        let way = usize::from(back[[i, k]]);
        k = (k + states - way / 2) % states;
        if way % 2 == 1 {
            k = best_rows[i - 1][k % STATES_A_PICK];
        }
        path.push(k);
    }
    path.reverse();
    (path, total * typical)
}

/// The typical residual; never under 2 % of the mean distance between phases, or noise-free pictures
/// would freeze the path.
fn typical_distance(d: &Array2<f32>) -> f64 {
    let (n, states) = d.dim();
    let rows = || d.rows().into_iter();
    let mut least: Vec<f32> = rows()
        .map(|row| row.to_slice().map_or(0.0, least_of))
        .collect();
    let mean = rows()
        .map(|row| f64::from(row.sum()) / states as f64)
        .sum::<f64>()
        / n as f64;
    let (_, middle, _) = least.select_nth_unstable_by(n / 2, f32::total_cmp);
    f64::from(*middle).max(0.02 * mean).max(1e-9)
}

/// The least of some values, four at once.
fn least_of(values: &[f32]) -> f32 {
    let (fours, rest) = values.as_chunks::<4>();
    let mut least = [f32::INFINITY; 4];
    for four in fours {
        for n in 0..4 {
            least[n] = lesser(four[n], least[n]);
        }
    }
    let all = least.iter().chain(rest).copied();
    all.fold(f32::INFINITY, lesser)
}

/// The lesser of two numbers; simpler than `min`, which thinks of what is no number.
#[inline]
fn lesser<T: PartialOrd>(a: T, b: T) -> T {
    if a < b { a } else { b }
}

/// How a state was reached: twice the advance, and one more where it began with a jump to another row.
/// As wide as a worth, so that both are chosen by one comparison.
type Way = u32;

/// The best paths up to one sample.
struct Front {
    /// The worth of the best path to each state, and before the first the last ones once more.
    padded: Vec<f32>,
    /// The worth of the best way on to each state.
    next: Vec<f32>,
    /// That way.
    way: Vec<Way>,
    /// What all worths are counted from.
    counted: f64,
}

impl Front {
    fn new(worth: impl Iterator<Item = f32>) -> Self {
        let mut padded = vec![0.0; MOST_ADVANCE];
        padded.extend(worth);
        let states = padded.len() - MOST_ADVANCE;
        padded.copy_within(states.., 0);
        Self {
            padded,
            next: vec![0.0; states],
            way: vec![0; states],
            counted: 0.0,
        }
    }

    /// Counts the worths from the best one.
    fn recount(&mut self) {
        let best = self.worth().iter().copied().fold(f32::MIN, f32::max);
        self.padded.iter_mut().for_each(|worth| *worth -= best);
        self.counted += f64::from(best);
    }

    /// The worth of the best path to each state.
    fn worth(&self) -> &[f32] {
        &self.padded[MOST_ADVANCE..]
    }

    /// Finds the best way on to each state by advancing; of ways worth the same the shortest counts.
    fn look_back(&mut self) {
        let states = self.next.len();
        for (next, stay) in self.next.iter_mut().zip(&self.padded[MOST_ADVANCE..]) {
            *next = stay + ADVANCE[0];
        }
        self.way.fill(0);
        for (advance, log) in ADVANCE.iter().enumerate().skip(1) {
            let from = &self.padded[MOST_ADVANCE - advance..][..states];
            take_better(
                from,
                *log,
                2 * advance as Way,
                &mut self.next,
                &mut self.way,
            );
        }
    }

    /// Takes the way over the best row, for each phase of a pick the state in `rows`, where it is worth
    /// more; of ways worth the same the shortest counts, and no jump before a jump.
    fn look_over(&mut self, rows: &[usize]) {
        let mut over = [(f32::NEG_INFINITY, 0); STATES_A_PICK];
        for (q, best) in over.iter_mut().enumerate() {
            for (a, log) in ADVANCE.iter().enumerate() {
                let from = rows[(q + STATES_A_PICK - a) % STATES_A_PICK];
                let by = self.worth()[from] + log - JUMP_COST;
                if by > best.0 {
                    *best = (by, 2 * a as Way + 1);
                }
            }
        }
        let (next, _) = self.next.as_chunks_mut::<STATES_A_PICK>();
        let (way, _) = self.way.as_chunks_mut::<STATES_A_PICK>();
        for (next, way) in next.iter_mut().zip(way) {
            for (q, (by, jump)) in over.iter().enumerate() {
                if *by > next[q] || (*by >= next[q] && *jump < way[q]) {
                    (next[q], way[q]) = (*by, *jump);
                }
            }
        }
    }

    /// Goes on to the next sample, which costs so much in each state.
    fn go_on(&mut self, costs: &[f32]) {
        let now = &mut self.padded[MOST_ADVANCE..];
        for ((now, next), cost) in now.iter_mut().zip(&self.next).zip(costs) {
            *now = next - cost;
        }
        let states = self.next.len();
        self.padded.copy_within(states.., 0);
    }
}

/// Takes a way to each state where it is worth more than the best so far. By itself, so that the compiler
/// works on several states at once.
#[inline(never)]
fn take_better(from: &[f32], log: f32, this: Way, next: &mut [f32], way: &mut [Way]) {
    for ((from, next), way) in from.iter().zip(next).zip(way) {
        let by = from + log;
        let (better, old) = (by > *next, *next);
        *next = if by > old { by } else { old };
        // A choice between whole numbers by itself would be made with a branch.
        let mask = Way::from(better).wrapping_neg();
        *way = (this & mask) | (*way & !mask);
    }
}

/// What a sample costs in each state: half its distance in typical ones, times its worth, and hardly more
/// beyond the cap.
#[inline(never)]
fn costs_of(distances: &[f32], typical: f32, worth: f32, costs: &mut [f32]) {
    for (cost, distance) in costs.iter_mut().zip(distances) {
        let x = distance / typical;
        *cost = worth * lesser(x, COST_CAP + (x / COST_CAP).sqrt());
    }
}

/// For each phase within a pick the state of the best row.
fn best_row(best: &[f32]) -> Vec<usize> {
    (0..STATES_A_PICK)
        .map(|q| {
            (q..best.len())
                .step_by(STATES_A_PICK)
                .max_by(|&a, &b| best[a].total_cmp(&best[b]))
                .unwrap_or(q)
        })
        .collect()
}
