//! Places by one criterion: every figure with its interval, bands that share a place held together
//! by a bracket and one ground.

use std::fmt::Write;

use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

use crate::compare::{Criterion, Order, Standing};
use crate::plan::Tolerance;
use crate::report::html::panel::{ALLOWED, Area, Drawn, INK, LINE, PLAN, QUIET, i32_of};
use crate::report::html::svg::named;
use crate::stats::shown;

/// One order to be drawn.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ranking<'a> {
    pub(super) order: &'a Order,
    /// What all the bands are held to, where that is one thing.
    pub(super) tolerance: Option<Tolerance>,
}

/// How large a drawing is, px.
#[derive(Clone, Copy, Debug)]
pub(super) struct Size {
    pub(super) width: u32,
    pub(super) letters: u32,
    /// Room for places and names: at most so much.
    pub(super) names: u32,
}

/// From here on a figure isn't drawn: no band has it, and a scale for it says nothing.
pub(super) const ABSURD: f64 = 1e6;
/// Ground of places that are told apart, so that ties are seen as one.
const TIE: RGBColor = RGBColor(243, 239, 230);

impl Ranking<'_> {
    /// The drawing with its own name `id` on the page.
    pub(super) fn draw(&self, id: &str, size: Size) -> Option<String> {
        let rows = self.rows();
        let longest = rows.iter().map(|row| row.name.chars().count()).max()?;
        let room = u32::try_from(longest)
            .ok()?
            .saturating_mul(size.letters * 6 / 10 + 1);
        let size = Size {
            names: size.names.min(room.saturating_add(size.letters * 6)),
            ..size
        };
        let row_px = size.letters * 2;
        let height = u32::try_from(rows.len()).ok()? * row_px + size.letters * 4;
        let most = self.most()?;
        let mut svg = String::new();
        {
            let root = SVGBackend::with_string(&mut svg, (size.width, height)).into_drawing_area();
            self.plot(&root, &rows, size, most).ok()?;
        }
        let brackets = brackets(&self.order.places, size, row_px);
        let end = svg.rfind("</svg>").unwrap_or(svg.len());
        svg.insert_str(end, &brackets);
        let title = format!("Places by {}", self.order.by.word());
        Some(named(&svg, id, &title, &self.described()))
    }

    /// The samples in the order of their places, best first.
    fn rows(&self) -> Vec<&Standing> {
        let place = |standing: &&Standing| {
            let mut places = self.order.places.iter();
            places.position(|place| place.contains(&standing.name))
        };
        let mut rows: Vec<&Standing> = self.order.values.iter().collect();
        rows.sort_by_key(place);
        rows
    }

    /// Where the scale ends.
    fn most(&self) -> Option<f64> {
        let ends = self.order.values.iter();
        let most = ends.map(|s| s.value.value + s.value.u95);
        let most = most.reduce(f64::max).filter(|most| *most < ABSURD)?;
        // A tolerance far beyond all bands would press them together.
        let allowed = self.allowed().filter(|allowed| *allowed < 2.0 * most);
        Some(1.06 * most.max(allowed.unwrap_or(0.0)).max(1e-6))
    }

    /// The tolerance in the order's unit.
    fn allowed(&self) -> Option<f64> {
        let tolerance = self.tolerance?;
        Some(match self.order.by {
            Criterion::Beat => 100.0 * tolerance.beat,
            Criterion::Picks => 100.0 * tolerance.picks,
            Criterion::DrawIn => 100.0 * tolerance.draw_in,
            Criterion::Selvedges => tolerance.waviness_mm,
        })
    }

    fn plot(&self, root: &Area<'_>, rows: &[&Standing], size: Size, most: f64) -> Drawn {
        let count = rows.len() as f64;
        let mut chart = ChartBuilder::on(root)
            .margin_top(size.letters / 2)
            .margin_right(size.letters * 2)
            .set_label_area_size(LabelAreaPosition::Left, size.names)
            .set_label_area_size(LabelAreaPosition::Bottom, size.letters * 7 / 2)
            .build_cartesian_2d(0.0..most, count..0.0)?;
        let mut from = 0.0;
        for (number, place) in self.order.places.iter().enumerate() {
            let to = from + place.len() as f64;
            if number % 2 == 0 {
                let ground = Rectangle::new([(0.0, from), (most, to)], TIE.filled());
                chart.draw_series([ground])?;
            }
            from = to;
        }
        let allowed = self.allowed().filter(|allowed| *allowed < most);
        if let Some(allowed) = allowed {
            let strip = Rectangle::new([(0.0, count - 0.06), (allowed, count)], ALLOWED.filled());
            chart.draw_series([strip])?;
            for dash in 0..u32::try_from(rows.len() * 2).unwrap_or(0) {
                let y = f64::from(dash) * 0.5;
                let dash = [(allowed, y + 0.08), (allowed, y + 0.36)];
                chart.draw_series(LineSeries::new(dash, PLAN.stroke_width(2)))?;
            }
        }
        let number = |value: &f64| crate::units::rounded(*value, 2);
        let letters = ("sans-serif", size.letters).into_font();
        let (what, unit) = self.order.by.measure();
        chart
            .configure_mesh()
            .disable_mesh()
            .axis_style(QUIET)
            .x_labels(6)
            .x_label_formatter(&number)
            .y_labels(0)
            .label_style(letters.clone().color(&QUIET))
            .x_desc(format!("{what}, {unit}"))
            .draw()?;
        let row_px = f64::from(size.letters * 2);
        for (index, standing) in rows.iter().enumerate() {
            let y = index as f64 + 0.5;
            let q = standing.value;
            let (low, high) = ((q.value - q.u95).max(0.0), q.value + q.u95);
            let line = |points: [(f64, f64); 2]| LineSeries::new(points, LINE.stroke_width(2));
            chart.draw_series(line([(low, y), (high, y)]))?;
            for end in [low, high] {
                chart.draw_series(line([(end, y - 0.18), (end, y + 0.18)]))?;
            }
            chart.draw_series([Circle::new((q.value, y), 4, INK.filled())])?;
            let style = letters
                .clone()
                .color(&INK)
                .pos(Pos::new(HPos::Right, VPos::Center));
            #[allow(clippy::cast_possible_truncation, reason = "inside the drawing")]
            let at = f64::from(size.letters / 2).mul_add(1.0, y * row_px).round() as i32;
            let name = fitting(
                &standing.name,
                (size.names - size.letters * 5) / size.letters,
            );
            root.draw(&Text::new(name, (i32_of(size.names) - 10, at), style))?;
        }
        Ok(())
    }

    /// What the drawing shows, in words.
    fn described(&self) -> String {
        let (what, unit) = self.order.by.measure();
        let mut from = 1;
        let places: Vec<String> = self
            .order
            .places
            .iter()
            .map(|place| {
                let number = place_number(from, place.len());
                from += place.len();
                format!("place {number}: {}", self.with_values(place, unit))
            })
            .collect();
        let allowed = self.allowed().map(|allowed| {
            format!(
                " The plan allows {} {unit}.",
                crate::units::rounded(allowed, 2)
            )
        });
        format!(
            "{what}, least first; {}.{}",
            places.join("; "),
            allowed.unwrap_or_default()
        )
    }

    /// The samples of a place with their figures.
    fn with_values(&self, place: &[String], unit: &str) -> String {
        let one = |name: &String| {
            let standing = self.order.values.iter().find(|s| s.name == *name);
            standing.map_or_else(
                || name.clone(),
                |s| format!("{name} {} {unit}", shown(s.value.value, s.value.u95)),
            )
        };
        place.iter().map(one).collect::<Vec<String>>().join(", ")
    }
}

/// A place's number, or the numbers that its bands share.
fn place_number(from: usize, bands: usize) -> String {
    match bands {
        1 => from.to_string(),
        bands => format!("{from}\u{2013}{}", from + bands - 1),
    }
}

/// Numbers of the places at the far left, with a bracket where bands share one.
fn brackets(places: &[Vec<String>], size: Size, row_px: u32) -> String {
    let mut out = format!(
        "<g font-family=\"sans-serif\" font-size=\"{}\" font-weight=\"bold\" fill=\"#1c282e\">",
        size.letters
    );
    let (letters, row) = (f64::from(size.letters), f64::from(row_px));
    let mut from = 0;
    for place in places {
        let top = letters / 2.0 + row * from as f64;
        let bottom = top + row * place.len() as f64;
        let middle = f64::midpoint(top, bottom);
        // A text in memory takes every word.
        let _ = write!(
            out,
            "<text x=\"2\" y=\"{:.1}\">{}</text>",
            middle + letters * 0.36,
            place_number(from + 1, place.len())
        );
        if place.len() > 1 {
            let (left, right) = (letters * 3.4, letters * 4.0);
            let _ = write!(
                out,
                "<path d=\"M{right:.1} {:.1}H{left:.1}V{:.1}H{right:.1}\" fill=\"none\" \
                 stroke=\"#1c282e\" stroke-width=\"2\"/>",
                top + 5.0,
                bottom - 5.0
            );
        }
        from += place.len();
    }
    out + "</g>"
}

/// A name cut to about as many letters' widths as there is room for.
fn fitting(name: &str, widths: u32) -> String {
    let most = usize::try_from(widths * 2).unwrap_or(usize::MAX).max(4);
    if name.chars().count() <= most {
        return name.to_owned();
    }
    let short: String = name.chars().take(most - 1).collect();
    short.trim_end().to_owned() + "\u{2026}"
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measurement::Quantity;

    fn order(values: &[(&str, f64)], places: &[&[&str]]) -> Order {
        let owned = |place: &&[&str]| place.iter().map(|name| (*name).to_owned()).collect();
        Order {
            by: Criterion::Beat,
            places: places.iter().map(owned).collect(),
            unit: "%".to_owned(),
            values: values
                .iter()
                .map(|(name, value)| Standing {
                    name: (*name).to_owned(),
                    value: Quantity {
                        value: *value,
                        u95: 0.4,
                    },
                })
                .collect(),
            pairs_told_apart: 2,
            pairs: 3,
        }
    }

    #[test]
    fn a_tie_is_one_bracket_with_the_numbers_it_holds() {
        let order = order(
            &[("Bo", 3.0), ("Ada", 9.0), ("Cy", 9.1)],
            &[&["Bo"], &["Ada", "Cy"]],
        );
        let ranking = Ranking {
            order: &order,
            tolerance: Some(Tolerance::default()),
        };
        let size = Size {
            width: 900,
            letters: 13,
            names: 200,
        };
        let svg = ranking.draw("by-beat", size).expect("it is drawn");
        assert!(svg.contains(">2\u{2013}3</text>") && svg.contains(">1</text>"));
        assert_eq!(svg.matches("stroke-width=\"2\"/></g>").count(), 1);
        assert!(
            svg.contains("place 2\u{2013}3: Ada 9.0 \u{b1} 0.4 %, Cy"),
            "{svg}"
        );
    }

    #[test]
    fn a_long_name_is_cut_where_the_room_ends() {
        assert_eq!(fitting("Ada", 10), "Ada");
        assert_eq!(fitting("Wilhelmina of the quay", 5), "Wilhelmin\u{2026}");
    }
}
