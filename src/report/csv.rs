//! Comma-separated text after RFC 4180: a record a line, CRLF at its end, fields quoted where they must be. It knows
//! no answer; what a row holds is said where the answer is written.

/// Records under a heading.
pub(super) struct Csv {
    text: String,
}

impl Csv {
    /// A file with these columns.
    pub(super) fn new(columns: &[&str]) -> Self {
        let mut csv = Self {
            text: String::new(),
        };
        csv.row(columns.iter().map(|c| (*c).to_owned()));
        csv
    }

    /// Adds a record.
    pub(super) fn row(&mut self, fields: impl IntoIterator<Item = String>) {
        self.text.push_str(&record(fields));
    }

    /// The whole text.
    pub(super) fn finish(self) -> String {
        self.text
    }
}

/// One record with its line end.
pub(super) fn record(fields: impl IntoIterator<Item = String>) -> String {
    let mut text = String::new();
    for (k, field) in fields.into_iter().enumerate() {
        if k > 0 {
            text.push(',');
        }
        text.push_str(&quoted(&field));
    }
    text.push_str("\r\n");
    text
}

/// A number as the shortest text that reads back the same; empty where there is none.
pub(super) fn number(value: impl Into<Option<f64>>) -> String {
    match value.into() {
        Some(v) if v.is_finite() => v.to_string(),
        _ => String::new(),
    }
}

/// Quoted where it holds a comma, a quote, a line end or a blank at either end; quotes inside are doubled.
fn quoted(field: &str) -> String {
    let must = field.contains([',', '"', '\n', '\r']) || field.trim() != field;
    if must {
        format!("\"{}\"", field.replace('"', "\"\""))
    } else {
        field.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fields_are_quoted_only_where_they_must_be() {
        let mut csv = Csv::new(&["case", "kW"]);
        csv.row(["hot hill".to_owned(), number(1.5)]);
        csv.row(["say \"go\", twice".to_owned(), number(f64::NAN)]);
        csv.row([" led by a blank".to_owned(), number(None)]);
        assert_eq!(
            csv.finish(),
            "case,kW\r\nhot hill,1.5\r\n\"say \"\"go\"\", twice\",\r\n\" led by a blank\",\r\n"
        );
    }
}
