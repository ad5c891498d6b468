//! The orders in a sentence each, for the head of the page.

use crate::compare::{Comparison, Order};

/// Up to so many names are said; more are counted.
const NAMED: usize = 4;

/// Who stands where, a sentence an order.
pub(super) fn headline(comparison: &Comparison) -> Vec<String> {
    comparison.orders.iter().map(sentence).collect()
}

fn sentence(order: &Order) -> String {
    let by = order.by.word();
    match order.places.as_slice() {
        [] | [_] => format!(
            "By {by}: no line can be drawn between the {} bands.",
            order.values.len()
        ),
        [first, .., last] => format!(
            "By {by}: {} first, {} last{}.",
            stand(first),
            stand(last),
            match order.places.len() {
                2 => String::new(),
                places => format!(", {} places between", places - 2),
            }
        ),
    }
    .replace("1 places between", "one place between")
}

/// The names of a place with their verb.
fn stand(names: &[String]) -> String {
    match names {
        [one] => format!("{one} stands"),
        names if names.len() <= NAMED => format!("{} stand", listed(names)),
        names => format!("{} bands stand", names.len()),
    }
}

/// Names in a row: "Ada, Bo and Cy".
pub(super) fn listed(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_said_or_counted() {
        let names = |n: usize| vec!["Ada".to_owned(); n];
        assert_eq!(stand(&names(1)), "Ada stands");
        assert_eq!(stand(&names(2)), "Ada and Ada stand");
        assert_eq!(stand(&names(5)), "5 bands stand");
    }
}
