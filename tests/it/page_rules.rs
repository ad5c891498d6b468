//! What every page that people look at must keep, whatever stands on it.
//!
//! Pages are written so that an XML parser reads them too: a tag that isn't closed fails here.

use std::collections::HashSet;

use roxmltree::{Document, Node, ParsingOptions};

/// Colours of the page's grounds, red, green, blue.
const GROUNDS: [[u8; 3]; 2] = [[255, 255, 255], [0xf4, 0xf1, 0xea]];
/// Least contrast of text that WCAG 2.2 level AA asks for.
const LEAST_CONTRAST: f64 = 4.5;

/// The page as a tree.
#[track_caller]
pub(crate) fn tree(page: &str) -> Document<'_> {
    let options = ParsingOptions {
        allow_dtd: true,
        ..ParsingOptions::default()
    };
    Document::parse_with_options(page, options).unwrap()
}

/// Elements of this name, in their order.
pub(crate) fn named<'a>(page: &'a Document<'a>, name: &'a str) -> Vec<Node<'a, 'a>> {
    let of_name = page.descendants().filter(|node| node.is_element());
    of_name
        .filter(|node| node.tag_name().name() == name)
        .collect()
}

/// Elements of this class, in their order.
pub(crate) fn of_class<'a>(page: &'a Document<'a>, class: &str) -> Vec<Node<'a, 'a>> {
    let has = |node: &Node<'_, '_>| {
        let classes = node.attribute("class").unwrap_or_default();
        classes.split(' ').any(|other| other == class)
    };
    page.descendants().filter(has).collect()
}

/// All the text in an element.
pub(crate) fn text(node: Node<'_, '_>) -> String {
    let parts = node.descendants().filter(Node::is_text);
    let parts = parts.filter_map(|part| part.text());
    parts.collect::<Vec<&str>>().join("")
}

/// Holds a page against the rules.
#[track_caller]
pub(crate) fn assert_kept(page: &str) {
    let tree = tree(page);
    let html = tree.root_element();
    assert_eq!(html.attribute("lang"), Some("en"));
    assert!(!text(named(&tree, "title")[0]).is_empty());
    assert!(named(&tree, "script").is_empty(), "no script is needed");
    let ids = ids(&tree);
    headings(&tree);
    nothing_is_fetched(&tree, page);
    for drawing in named(&tree, "svg") {
        // A drawing inside another, which only clips, is part of that one.
        if drawing
            .ancestors()
            .skip(1)
            .any(|up| up.has_tag_name_of("svg"))
        {
            continue;
        }
        let child = |name: &str| drawing.children().find(|part| part.has_tag_name_of(name));
        for part in ["title", "desc"] {
            let words = child(part).map(text).unwrap_or_default();
            assert!(!words.trim().is_empty(), "a drawing without {part}");
        }
        if drawing.attribute("aria-hidden").is_none() {
            assert_eq!(drawing.attribute("role"), Some("img"));
            let labels = drawing.attribute("aria-labelledby").unwrap();
            assert!(labels.split(' ').all(|id| ids.contains(id)), "{labels}");
        }
    }
    for picture in named(&tree, "img") {
        assert!(!picture.attribute("alt").unwrap_or_default().is_empty());
    }
    for table in named(&tree, "table") {
        assert!(ids.contains(table.attribute("aria-labelledby").unwrap()));
        let heads = table.descendants().filter(|cell| cell.has_tag_name("th"));
        for head in heads {
            assert!(head.attribute("scope").is_some() && !text(head).is_empty());
        }
    }
    contrast(&text(named(&tree, "style")[0]));
}

/// Every id, none of them twice.
#[track_caller]
fn ids<'a>(tree: &'a Document<'a>) -> HashSet<&'a str> {
    let mut seen = HashSet::new();
    for id in tree.descendants().filter_map(|node| node.attribute("id")) {
        assert!(seen.insert(id), "the id {id} stands there twice");
    }
    seen
}

/// One heading of the first level, and none that skips a level.
#[track_caller]
fn headings(tree: &Document<'_>) {
    let level = |node: Node<'_, '_>| match node.tag_name().name() {
        "h1" => Some(1),
        "h2" => Some(2),
        "h3" => Some(3),
        "h4" => Some(4),
        _ => None,
    };
    let levels: Vec<u32> = tree.descendants().filter_map(level).collect();
    assert_eq!(levels.iter().filter(|level| **level == 1).count(), 1);
    assert_eq!(levels.first(), Some(&1));
    for pair in levels.windows(2) {
        assert!(
            pair[1] <= pair[0] + 1,
            "a heading skips a level: {levels:?}"
        );
    }
}

/// Nothing comes from outside the file.
#[track_caller]
fn nothing_is_fetched(tree: &Document<'_>, page: &str) {
    for node in tree.descendants() {
        let addresses = node
            .attributes()
            .filter(|a| ["href", "src"].contains(&a.name()));
        for address in addresses {
            let own = ["#", "data:"]
                .iter()
                .any(|own| address.value().starts_with(own));
            assert!(own, "{}", &address.value()[..40.min(address.value().len())]);
        }
    }
    assert!(!page.contains("@import") && !page.contains("url("));
}

/// Every colour that letters are written in stands out from both grounds; white letters stand on
/// dark grounds of their own.
#[track_caller]
fn contrast(style: &str) {
    let colours = style.split([';', '{']).filter_map(|rule| {
        let colour = rule.trim().strip_prefix("color:")?;
        colour.trim().strip_prefix('#')
    });
    let mut seen = 0;
    for colour in colours.filter(|colour| *colour != "fff") {
        seen += 1;
        let levels = [0, 2, 4].map(|at| u8::from_str_radix(&colour[at..at + 2], 16).unwrap());
        for ground in GROUNDS {
            let ratio = (luminance(ground) + 0.05) / (luminance(levels) + 0.05);
            assert!(ratio >= LEAST_CONTRAST, "#{colour}: {ratio:.2}");
        }
    }
    assert!(seen > 3, "the colours weren't found");
}

/// Relative luminance of WCAG 2.2.
fn luminance(levels: [u8; 3]) -> f64 {
    let linear = levels.map(|level| {
        let level = f64::from(level) / 255.0;
        if level <= 0.040_45 {
            level / 12.92
        } else {
            ((level + 0.055) / 1.055).powf(2.4)
        }
    });
    0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
}

/// Names without their namespace: drawings have one, the page has none.
trait LocalName {
    fn has_tag_name_of(&self, name: &str) -> bool;
}

impl LocalName for Node<'_, '_> {
    fn has_tag_name_of(&self, name: &str) -> bool {
        self.tag_name().name() == name
    }
}
