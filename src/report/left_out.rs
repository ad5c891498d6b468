//! What couldn't be measured, each reason once.

use super::figures::plan_name;
use crate::measurement::Unmeasured;

/// Names of the parts and why they are left out; neighbours with one reason share it.
pub(super) fn left_out(parts: &[Unmeasured]) -> Vec<(String, String)> {
    let alike = parts.chunk_by(|a, b| a.why == b.why);
    alike
        .map(|group| {
            let names: Vec<&str> = group.iter().map(|part| plan_name(&part.what)).collect();
            let why = group.first().map(|part| part.why.clone());
            (names.join(", "), why.unwrap_or_default())
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_with_one_reason_share_a_line() {
        let part = |what: &str, why: &str| Unmeasured {
            what: what.into(),
            why: why.into(),
        };
        let parts = [
            part("picks", "too few"),
            part("width", "unseen"),
            part("draw_in", "unseen"),
        ];
        let lines = left_out(&parts);
        assert_eq!(lines.len(), 2);
        assert_eq!(lines[1], ("width, draw-in".into(), "unseen".into()));
    }
}
