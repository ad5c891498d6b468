//! The greatest and the least value around each.

/// The greatest value within `half` samples on either side of each.
#[must_use]
pub(crate) fn running_max(values: &[f64], half: usize) -> Vec<f64> {
    let mut top = Vec::with_capacity(values.len());
    // Places of values that may still become the greatest, greatest first.
    let mut waiting = std::collections::VecDeque::new();
    let mut next = 0;
    for at in 0..values.len() {
        while next < values.len() && next <= at + half {
            while waiting
                .back()
                .is_some_and(|k: &usize| values[*k] <= values[next])
            {
                waiting.pop_back();
            }
            waiting.push_back(next);
            next += 1;
        }
        while waiting.front().is_some_and(|k| k + half < at) {
            waiting.pop_front();
        }
        top.push(waiting.front().map_or(values[at], |k| values[*k]));
    }
    top
}

/// The least value within `half` samples on either side of each.
#[must_use]
pub(crate) fn running_min(values: &[f64], half: usize) -> Vec<f64> {
    let turned: Vec<f64> = values.iter().map(|v| -v).collect();
    let mut least = running_max(&turned, half);
    least.iter_mut().for_each(|v| *v = -*v);
    least
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_running_extremes_agree_with_looking() {
        let values: Vec<f64> = (0..50).map(|k| f64::from(k * 37 % 23)).collect();
        let (high, low) = (running_max(&values, 4), running_min(&values, 4));
        for at in 0..values.len() {
            let window = &values[at.saturating_sub(4)..(at + 5).min(50)];
            let highest = window.iter().copied().fold(f64::MIN, f64::max);
            let lowest = window.iter().copied().fold(f64::MAX, f64::min);
            assert!((high[at] - highest).abs() < 1e-12);
            assert!((low[at] - lowest).abs() < 1e-12);
        }
    }
}
