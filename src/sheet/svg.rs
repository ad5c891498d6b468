//! The sheet as SVG, one user unit a millimetre.

use std::io::{self, Write};

use super::drawing::{Shape, Words, shapes};
use super::layout::{Layout, Rect};
use super::lettering::{Weight, width};

/// Writes the sheet as SVG: the page's size in millimetres, one user unit a millimetre.
///
/// # Errors
///
/// What the writer says.
pub fn write_svg(layout: &Layout, out: &mut impl Write) -> io::Result<()> {
    let (page_width, page_height) = layout.paper.size_mm();
    writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{page_width}mm\" \
         height=\"{page_height}mm\" viewBox=\"0 0 {page_width} {page_height}\">"
    )?;
    writeln!(
        out,
        "<title>evenfell backing sheet, {}</title>",
        layout.paper.name()
    )?;
    writeln!(
        out,
        "<rect width=\"{page_width}\" height=\"{page_height}\" fill=\"#fff\"/>"
    )?;
    for shape in shapes(layout) {
        match shape {
            Shape::Rects { rects, tone } => write_rects(out, &rects, tone)?,
            Shape::Polygon(points) => {
                let list: Vec<String> = points
                    .iter()
                    .map(|p| format!("{:.3},{:.3}", p.x, p.y))
                    .collect();
                writeln!(out, "<polygon points=\"{}\"/>", list.join(" "))?;
            }
            Shape::Words(line) => write_words(out, &line)?,
        }
    }
    writeln!(out, "</svg>")
}

fn write_rects(out: &mut impl Write, rects: &[Rect], tone: f64) -> io::Result<()> {
    write!(out, "<path d=\"")?;
    for r in rects {
        write!(
            out,
            "M{:.4} {:.4}h{:.4}v{:.4}h{:.4}z",
            r.x, r.y, r.width, r.height, -r.width
        )?;
    }
    let paper = 100.0 * (1.0 - tone);
    writeln!(
        out,
        "\" fill=\"rgb({paper:.0}%,{paper:.0}%,{paper:.0}%)\"/>"
    )
}

fn write_words(out: &mut impl Write, line: &Words) -> io::Result<()> {
    let weight = match line.weight {
        Weight::Regular => 400,
        Weight::Bold => 700,
    };
    let escaped = line
        .words
        .replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;");
    writeln!(
        out,
        "<text x=\"{:.3}\" y=\"{:.3}\" font-size=\"{:.3}\" font-weight=\"{weight}\" \
         textLength=\"{:.3}\" font-family=\"Helvetica, Arial, sans-serif\">{escaped}</text>",
        line.x,
        line.baseline,
        line.size,
        width(&line.words, line.size, line.weight)
    )
}
