//! Drawings as elements of a page: each with a name and a description for those who don't see it.

use std::fmt::Write;

/// Text as it stands inside an element or an attribute.
pub(super) fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            _ => out.push(letter),
        }
    }
    out
}

/// The attributes and first children that name a drawing; `id` is its own on the page.
fn naming(id: &str, title: &str, description: &str) -> (String, String) {
    let attributes = format!(" role=\"img\" aria-labelledby=\"{id}-title {id}-desc\"");
    let children = format!(
        "<title id=\"{id}-title\">{}</title><desc id=\"{id}-desc\">{}</desc>",
        escaped(title),
        escaped(description)
    );
    (attributes, children)
}

/// A finished drawing with its name and description.
pub(super) fn named(svg: &str, id: &str, title: &str, description: &str) -> String {
    let (attributes, children) = naming(id, title, description);
    match svg.split_once('>') {
        Some((opening, rest)) => format!("{opening}{attributes}>{children}{rest}"),
        None => svg.to_owned(),
    }
}

/// The opening of a drawing made by hand, `width` by `height` px, with its name and description.
pub(super) fn opened(
    (width, height): (f64, f64),
    id: &str,
    title: &str,
    description: &str,
) -> String {
    let (attributes, children) = naming(id, title, description);
    let mut out = String::new();
    // A text in memory takes every word.
    let _ = write!(
        out,
        "<svg viewBox=\"0 0 {width:.0} {height:.0}\" width=\"{width:.0}\" height=\"{height:.0}\"{attributes}>{children}"
    );
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_named_drawing_keeps_what_it_holds() {
        let svg = named("<svg width=\"4\">\n<g/></svg>", "beat", "Beat", "a < b");
        assert_eq!(
            svg,
            "<svg width=\"4\" role=\"img\" aria-labelledby=\"beat-title beat-desc\">\
             <title id=\"beat-title\">Beat</title><desc id=\"beat-desc\">a &lt; b</desc>\n<g/></svg>"
        );
    }
}
