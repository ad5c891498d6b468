//! Numbers with fractions, each followed by a unit: `1 3/4 in`, `2 ft 3 in`, `1¾″`.

/// The vulgar fractions that have a character of their own.
const FRACTIONS: [(char, &str); 18] = [
    ('¼', "1/4"),
    ('½', "1/2"),
    ('¾', "3/4"),
    ('⅐', "1/7"),
    ('⅑', "1/9"),
    ('⅒', "1/10"),
    ('⅓', "1/3"),
    ('⅔', "2/3"),
    ('⅕', "1/5"),
    ('⅖', "2/5"),
    ('⅗', "3/5"),
    ('⅘', "4/5"),
    ('⅙', "1/6"),
    ('⅚', "5/6"),
    ('⅛', "1/8"),
    ('⅜', "3/8"),
    ('⅝', "5/8"),
    ('⅞', "7/8"),
];

/// Longest text that is taken for a quantity, characters.
const LONGEST: usize = 100;

/// The text with fraction characters spelled out, one kind of space and small letters.
///
/// # Errors
///
/// A text that is empty or longer than any quantity.
pub(crate) fn simplify(text: &str) -> Result<String, String> {
    if text.chars().count() > LONGEST {
        return Err(format!("is longer than {LONGEST} characters"));
    }
    let mut simple = String::new();
    for c in text.trim().chars() {
        if let Some((_, spelled)) = FRACTIONS.iter().find(|(sign, _)| *sign == c) {
            if simple.ends_with(|last: char| last.is_ascii_digit()) {
                simple.push(' ');
            }
            simple.push_str(spelled);
        } else if c.is_whitespace() {
            simple.push(' ');
        } else {
            match c {
                '⁄' | '∕' => simple.push('/'),
                '″' | '”' | '“' => simple.push('"'),
                '′' | '’' => simple.push('\''),
                '\u{2212}' => simple.push('-'),
                other => simple.extend(other.to_lowercase()),
            }
        }
    }
    if simple.is_empty() {
        return Err("is empty".to_owned());
    }
    Ok(simple)
}

/// Reads numbers and units one after the other from a [simplified](simplify) text.
#[derive(Debug)]
pub(crate) struct Quantities<'a> {
    rest: &'a str,
}

impl<'a> Quantities<'a> {
    pub(crate) fn new(text: &'a str) -> Self {
        Self { rest: text.trim() }
    }

    /// Whether nothing is left.
    pub(crate) fn is_empty(&self) -> bool {
        self.rest.is_empty()
    }

    /// What is left.
    pub(crate) fn rest(&self) -> &'a str {
        self.rest
    }

    /// The next number: decimal, fraction, or whole with a fraction; never negative.
    pub(crate) fn number(&mut self) -> Result<f64, String> {
        if self.rest.starts_with('-') {
            return Err("is below zero".to_owned());
        }
        let first = self.decimal()?;
        if starts_with_bar_and_digit(self.rest) {
            let fraction = self.below_the_line(first)?;
            return Ok(fraction);
        }
        let after = self
            .rest
            .strip_prefix('-')
            .unwrap_or_else(|| self.rest.trim_start());
        let whole_here = starts_with_fraction(after);
        if !whole_here {
            self.rest = self.rest.trim_start();
            return Ok(first);
        }
        if first.fract() != 0.0 {
            return Err("mixes a decimal with a fraction: write one or the other".to_owned());
        }
        self.rest = after;
        let top = self.decimal()?;
        let fraction = self.below_the_line(top)?;
        if fraction >= 1.0 {
            return Err("has a whole number followed by a fraction that is not below 1".to_owned());
        }
        Ok(first + fraction)
    }

    /// The next word or sign: letters, or one of `" ' % °`.
    pub(crate) fn word(&mut self) -> &'a str {
        let end = match self.rest.chars().next() {
            Some(c) if c.is_alphabetic() => self
                .rest
                .find(|c: char| !c.is_alphabetic())
                .unwrap_or(self.rest.len()),
            Some('\'') if self.rest.starts_with("''") => 2,
            Some(c) if !c.is_ascii_digit() => c.len_utf8(),
            _ => 0,
        };
        let (word, rest) = self.rest.split_at(end);
        // "in." and "yd." are abbreviations; the point says nothing more.
        let rest = if word.chars().all(char::is_alphabetic) && !word.is_empty() {
            rest.strip_prefix('.').unwrap_or(rest)
        } else {
            rest
        };
        self.rest = rest.trim_start();
        word
    }

    fn decimal(&mut self) -> Result<f64, String> {
        let end = self
            .rest
            .find(|c: char| !(c.is_ascii_digit() || c == '.' || c == ','))
            .unwrap_or(self.rest.len());
        let digits = &self.rest[..end];
        if !digits.contains(|c: char| c.is_ascii_digit()) {
            return Err("has no number where one is wanted".to_owned());
        }
        if digits.contains(',') {
            return Err(
                "has a comma in a number: write 9.5 with a point, and 1500 without a mark"
                    .to_owned(),
            );
        }
        let value: f64 = digits
            .parse()
            .map_err(|_| format!("has '{digits}', which is no number"))?;
        if !value.is_finite() {
            return Err("is larger than any number".to_owned());
        }
        self.rest = &self.rest[end..];
        Ok(value)
    }

    fn below_the_line(&mut self, top: f64) -> Result<f64, String> {
        self.rest = &self.rest[1..];
        let bottom = self.decimal()?;
        if top.fract() != 0.0 || bottom.fract() != 0.0 {
            return Err("has a fraction of numbers that aren't whole".to_owned());
        }
        if bottom < 1.0 {
            return Err("divides by zero".to_owned());
        }
        if self.rest.starts_with('/') {
            return Err("has two fraction bars in one number".to_owned());
        }
        self.rest = self.rest.trim_start();
        Ok(top / bottom)
    }
}

/// Whether `text` begins with digits, a bar and digits.
fn starts_with_fraction(text: &str) -> bool {
    let after_top = text.trim_start_matches(|c: char| c.is_ascii_digit());
    after_top.len() < text.len() && starts_with_bar_and_digit(after_top)
}

/// Whether `text` begins with a bar and a digit.
fn starts_with_bar_and_digit(text: &str) -> bool {
    text.strip_prefix('/')
        .is_some_and(|below| below.starts_with(|c: char| c.is_ascii_digit()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(text: &str) -> Result<f64, String> {
        let simple = simplify(text)?;
        let mut quantities = Quantities::new(&simple);
        let value = quantities.number()?;
        if quantities.is_empty() {
            Ok(value)
        } else {
            Err(format!("left over: {}", quantities.rest()))
        }
    }

    #[test]
    fn whole_numbers_decimals_and_fractions_are_read() {
        for (text, value) in [
            ("7", 7.0),
            ("0.25", 0.25),
            (".5", 0.5),
            ("3/4", 0.75),
            ("1 3/4", 1.75),
            ("1-3/4", 1.75),
            ("1¾", 1.75),
            ("1 ¾", 1.75),
            ("½", 0.5),
            ("2 1⁄2", 2.5),
        ] {
            assert_eq!(number(text), Ok(value), "{text}");
        }
    }

    #[test]
    fn what_is_no_number_is_refused() {
        for text in [
            "", " ", "-3", "−3", "1,5", "1.2.3", "1/0", "1/2/3", "1.5 3/4", "1 5/4", "x", ".",
            "1e5", "NaN", "inf",
        ] {
            assert!(number(text).is_err(), "{text}");
        }
        assert!(number(&"9".repeat(400)).is_err());
    }
}
