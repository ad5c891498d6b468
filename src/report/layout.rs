//! Lines that fit a terminal.

/// Breaks a text into lines of at most `width` characters, the first line after `first`, the
/// others after as many spaces as `indent` says. A word longer than a line stands alone.
pub(super) fn wrapped(first: &str, text: &str, indent: usize, width: usize) -> String {
    let mut out = String::new();
    let mut line = first.to_owned();
    let mut empty = true;
    for word in text.split_whitespace() {
        let needed = line.chars().count() + usize::from(!empty) + word.chars().count();
        if !empty && needed > width {
            out.push_str(line.trim_end());
            out.push('\n');
            line = " ".repeat(indent);
            empty = true;
        }
        if !empty {
            line.push(' ');
        }
        line.push_str(word);
        empty = false;
    }
    out.push_str(line.trim_end());
    out.push('\n');
    out
}

/// Breaks every line of a text that is longer than `width` characters between its words; what
/// follows stands two spaces further in.
///
/// ```
/// let text = evenfell::report::wrap_text("  to work on: the beat\n", 16);
/// assert_eq!(text, "  to work on:\n    the beat\n");
/// ```
#[must_use]
pub fn wrap_text(text: &str, width: usize) -> String {
    let mut out = String::new();
    for line in text.lines() {
        if line.chars().count() <= width {
            out.push_str(line);
            out.push('\n');
        } else {
            let indent = line.len() - line.trim_start().len();
            out.push_str(&wrapped(&" ".repeat(indent), line, indent + 2, width));
        }
    }
    out
}

/// A cell filled up with spaces to so many characters.
pub(super) fn padded(cell: &str, width: usize) -> String {
    let missing = width.saturating_sub(cell.chars().count());
    format!("{cell}{}", " ".repeat(missing))
}

/// Rows of cells in columns as wide as their widest cell; where that doesn't fit into `width`,
/// each row's last cell goes on its own line beneath, and where even the others don't, each row
/// becomes a sentence.
pub(super) fn table(rows: &[Vec<String>], indent: usize, width: usize) -> String {
    let columns = rows.iter().map(Vec::len).max().unwrap_or(0);
    let widths: Vec<usize> = (0..columns)
        .map(|column| {
            let cells = rows.iter().filter_map(|row| row.get(column));
            cells.map(|cell| cell.chars().count()).max().unwrap_or(0)
        })
        .collect();
    let front: usize = widths.iter().rev().skip(1).map(|width| width + 2).sum();
    if indent + front > width {
        return stacked(rows, indent, width);
    }
    let mut out = String::new();
    for row in rows {
        let mut line = " ".repeat(indent);
        let (last, front) = row
            .split_last()
            .map_or(("", &[][..]), |(last, front)| (last.as_str(), front));
        for (cell, &width) in front.iter().zip(&widths) {
            line.push_str(&padded(cell, width + 2));
        }
        let start = line.chars().count();
        if start + last.chars().count() <= width || last.is_empty() {
            out.push_str(format!("{line}{last}").trim_end());
            out.push('\n');
        } else if width.saturating_sub(start) >= NARROWEST {
            out.push_str(&wrapped(&line, last, start, width));
        } else {
            out.push_str(line.trim_end());
            out.push('\n');
            out.push_str(&wrapped(&" ".repeat(indent + 4), last, indent + 4, width));
        }
    }
    out
}

/// Rows whose columns don't fit beside each other: the first cell, then the others after it.
fn stacked(rows: &[Vec<String>], indent: usize, width: usize) -> String {
    let row = |cells: &Vec<String>| {
        let (name, rest) = cells.split_first()?;
        let rest: Vec<&str> = rest
            .iter()
            .map(String::as_str)
            .filter(|cell| !cell.is_empty())
            .collect();
        let text = format!("{name}: {}", rest.join(", "));
        Some(wrapped(&" ".repeat(indent), &text, indent + 4, width))
    };
    rows.iter().filter_map(row).collect()
}

/// A last column narrower than this (characters) goes beneath instead.
const NARROWEST: usize = 24;

/// A text as a sentence: a capital at its beginning, a stop at its end.
pub(super) fn sentence(text: &str) -> String {
    let text = text.trim();
    let mut letters = text.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    let stop = if text.ends_with(['.', '!', '?']) {
        ""
    } else {
        "."
    };
    first.chain(letters.clone()).chain(stop.chars()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_breaks_between_words_and_keeps_its_indent() {
        assert_eq!(
            wrapped("  1. ", "a loose stretch here", 5, 16),
            "  1. a loose\n     stretch\n     here\n"
        );
    }

    #[test]
    fn columns_are_as_wide_as_their_widest_cell() {
        let rows = [
            vec!["picks".to_owned(), "91".to_owned()],
            vec!["x".to_owned(), "2".to_owned()],
        ];
        assert_eq!(table(&rows, 2, 80), "  picks  91\n  x      2\n");
    }

    #[test]
    fn a_narrow_terminal_gets_the_last_cell_beneath() {
        let rows = [vec![
            "picks, whole body".to_owned(),
            "10.02".to_owned(),
            "of the band".to_owned(),
        ]];
        assert_eq!(
            table(&rows, 2, 30),
            "  picks, whole body  10.02\n      of the band\n"
        );
    }
}
