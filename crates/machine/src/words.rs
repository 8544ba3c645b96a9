//! Names, numbers and lists as they stand in a sentence.

use quantity::Unit;

/// A text from the file, safe and short enough to stand in a sentence.
pub(crate) fn clip(text: &str) -> String {
    const MOST: usize = 48;
    let mut out: String = text.chars().take(MOST).flat_map(plain).collect();
    if text.chars().nth(MOST).is_some() {
        out.push('…');
    }
    out
}

/// A path, safe to stand in a sentence.
pub(crate) fn safe(text: &str) -> String {
    text.chars().flat_map(plain).collect()
}

/// A character that cannot disturb a terminal.
fn plain(c: char) -> Vec<char> {
    if c.is_control()
        || ('\u{200b}'..='\u{200f}').contains(&c)
        || ('\u{202a}'..='\u{202e}').contains(&c)
        || ('\u{2066}'..='\u{2069}').contains(&c)
    {
        c.escape_default().collect()
    } else {
        vec![c]
    }
}

/// How many names a sentence lists at most.
pub(crate) const LISTED: usize = 12;

/// "a, b and c", the first dozen at most.
pub(crate) fn list<S: AsRef<str>>(items: &[S], join: &str) -> String {
    list_of(items, items.len(), join)
}

/// "a, b and c" or "a, b and 40 more": the first of `count` items.
pub(crate) fn list_of<S: AsRef<str>>(first: &[S], count: usize, join: &str) -> String {
    let shown = first.iter().take(LISTED);
    let shown: Vec<String> = shown.map(|s| clip(s.as_ref())).collect();
    if count > shown.len() {
        return format!("{} and {} more", shown.join(", "), count - shown.len());
    }
    match shown.split_last() {
        None => String::new(),
        Some((only, [])) => only.clone(),
        Some((last, before)) => format!("{} {join} {last}", before.join(", ")),
    }
}

/// A value with its unit and about four figures: `0.12 mm`, `1250 mm`, `3 deg`.
pub(crate) fn show(value: f64, unit: Unit) -> String {
    let x = unit.from_inside(value);
    let symbol = unit.symbol();
    if symbol.is_empty() {
        figures(x)
    } else {
        format!("{} {symbol}", figures(x))
    }
}

/// About four figures, without needless zeros.
pub(crate) fn figures(x: f64) -> String {
    if x == 0.0 {
        return "0".to_owned();
    }
    let size = x.abs().log10().floor();
    if !(-9.0..12.0).contains(&size) {
        return format!("{x:.2e}");
    }
    let decimals = (3.0 - size).max(0.0) as usize;
    let text = format!("{x:.decimals$}");
    let text = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    if text == "-0" {
        "0".to_owned()
    } else {
        text.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_few_but_enough() {
        assert_eq!(figures(0.0), "0");
        assert_eq!(figures(12.0), "12");
        assert_eq!(figures(0.12), "0.12");
        assert_eq!(figures(-0.000_012_345), "-0.00001234");
        assert_eq!(figures(1_234_567.0), "1234567");
        assert_eq!(figures(99.99999), "100");
        assert_eq!(figures(1e300), "1.00e300");
        assert_eq!(figures(f64::NAN), "NaN");
        assert_eq!(show(25.4, Unit::Inch), "1 in");
    }

    #[test]
    fn lists_read_as_spoken() {
        assert_eq!(list::<&str>(&[], "and"), "");
        assert_eq!(list(&["a"], "and"), "a");
        assert_eq!(list(&["a", "b", "c"], "or"), "a, b or c");
        assert_eq!(
            list(&["x"; 14], "and"),
            format!("{} and 2 more", ["x"; 12].join(", "))
        );
    }

    #[test]
    fn clipped_names_hold_no_control_characters() {
        assert_eq!(clip("a\u{1b}[31m"), "a\\u{1b}[31m");
        assert_eq!(clip(&"x".repeat(60)).chars().count(), 49);
    }
}
