//! The sheet as PDF: vectors only, in the letters that every viewer has.

use std::io::{self, Write};

use pdf_writer::{Content, Finish, Name, Pdf, Rect as Box, Ref, Str, TextStr};

use super::drawing::{Shape, Words, shapes};
use super::layout::Layout;
use super::lettering::Weight;
use crate::geometry::Point;
use crate::units::MM_PER_INCH;

/// Points of PDF in a millimetre.
const POINTS_PER_MM: f64 = 72.0 / MM_PER_INCH;

const REGULAR: Name = Name(b"R");
const BOLD: Name = Name(b"B");

/// Writes the sheet as PDF, exact to a ten-thousandth of a millimetre; it asks the viewer to print
/// without scaling.
///
/// # Errors
///
/// What the writer says.
pub fn write_pdf(layout: &Layout, out: &mut impl Write) -> io::Result<()> {
    let [catalog, tree, page_id, regular, bold, content_id, info] =
        [1, 2, 3, 4, 5, 6, 7].map(Ref::new);
    let (width, height) = layout.paper.size_mm();
    let mut pdf = Pdf::new();
    let mut root = pdf.catalog(catalog);
    root.pages(tree);
    root.viewer_preferences()
        .pair(Name(b"PrintScaling"), Name(b"None"));
    root.finish();
    pdf.document_info(info)
        .title(TextStr("evenfell backing sheet"));
    pdf.pages(tree).kids([page_id]).count(1);
    let mut page = pdf.page(page_id);
    page.media_box(Box::new(0.0, 0.0, points(width), points(height)));
    page.parent(tree);
    page.contents(content_id);
    page.resources()
        .fonts()
        .pair(REGULAR, regular)
        .pair(BOLD, bold);
    page.finish();
    for (id, name) in [
        (regular, Name(b"Helvetica")),
        (bold, Name(b"Helvetica-Bold")),
    ] {
        pdf.type1_font(id)
            .base_font(name)
            .encoding_predefined(Name(b"WinAnsiEncoding"));
    }
    pdf.stream(content_id, &content(layout, height).finish());
    out.write_all(&pdf.finish())
}

fn content(layout: &Layout, page_height: f64) -> Content {
    let mut content = Content::new();
    let at = |p: &Point| (points(p.x), points(page_height - p.y));
    for shape in shapes(layout) {
        match shape {
            Shape::Rects { rects, tone } => {
                content.set_fill_gray(single(1.0 - tone));
                for r in rects {
                    let (x, y) = at(&Point::new(r.x, r.y + r.height));
                    content.rect(x, y, points(r.width), points(r.height));
                }
                content.fill_nonzero();
            }
            Shape::Polygon(corners) => {
                content.set_fill_gray(0.0);
                for (i, corner) in corners.iter().enumerate() {
                    let (x, y) = at(corner);
                    if i == 0 {
                        content.move_to(x, y);
                    } else {
                        content.line_to(x, y);
                    }
                }
                content.close_path().fill_nonzero();
            }
            Shape::Words(line) => show(&mut content, &line, at(&Point::new(line.x, line.baseline))),
        }
    }
    content
}

fn show(content: &mut Content, line: &Words, (x, y): (f32, f32)) {
    let font = match line.weight {
        Weight::Regular => REGULAR,
        Weight::Bold => BOLD,
    };
    // All letters of the sheet stand in Latin-1, which WinAnsi agrees with.
    let bytes: Vec<u8> = line
        .words
        .chars()
        .map(|letter| u8::try_from(u32::from(letter)).unwrap_or(b'?'))
        .collect();
    content.set_fill_gray(0.0);
    content.begin_text();
    content.set_font(font, points(line.size));
    content.next_line(x, y);
    content.show(Str(&bytes));
    content.end_text();
}

fn points(mm: f64) -> f32 {
    single(mm * POINTS_PER_MM)
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "a page's points in single precision are exact to 0.0001 mm"
)]
fn single(value: f64) -> f32 {
    value as f32
}
