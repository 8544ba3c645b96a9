//! Tables for a spreadsheet (RFC 4180, lines ended as on this system's text files).

/// One line.
pub(crate) fn line<'a>(cells: impl IntoIterator<Item = &'a str>) -> String {
    let cells: Vec<String> = cells.into_iter().map(quoted).collect();
    cells.join(",") + "\n"
}

/// What a further table is called, alone on its line behind an empty one.
pub(crate) fn title(name: &str) -> String {
    format!("\n{}\n", quoted(name))
}

fn quoted(cell: &str) -> String {
    if cell.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::line;

    #[test]
    fn commas_and_quotes_are_quoted() {
        assert_eq!(
            line(["set (deg)", "a, b", "1/2\""]),
            "set (deg),\"a, b\",\"1/2\"\"\"\n"
        );
    }
}
