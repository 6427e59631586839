//! The HTML writer. Every text goes through it and is escaped; markup is written by [`Html::raw`] alone.

use super::facts::{Facts, Line};
use crate::report::svg::escape;
use crate::study::Verdict;

/// A page while it is written.
pub(in crate::report) struct Html {
    out: String,
}

impl Html {
    /// The beginning of a page up to its body.
    pub fn new(title: &str, style: &str) -> Self {
        let title = escape(title);
        // Nothing may be fetched and nothing may run: the page is text and drawings.
        Self {
            out: format!(
                "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"><meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\"><meta name=\"color-scheme\" content=\"light dark\"><title>{title}</title><style>{style}</style></head><body><main>"
            ),
        }
    }

    /// Markup that is known to be sound.
    pub fn raw(&mut self, markup: &str) {
        self.out.push_str(markup);
    }

    /// Text.
    pub fn text(&mut self, text: &str) {
        self.out.push_str(&escape(text));
    }

    /// A heading of a level.
    pub fn heading(&mut self, level: u8, text: &str) {
        self.raw(&format!("<h{level}>{}</h{level}>\n", escape(text)));
    }

    /// A paragraph.
    pub fn say(&mut self, text: &str) {
        self.raw(&format!("<p>{}</p>\n", escape(text)));
    }

    /// A paragraph with figures.
    pub fn line(&mut self, line: &Line, facts: &Facts<'_>) {
        self.raw(&format!("<p>{}</p>\n", line.markup("data", facts.units)));
    }

    /// A list of sentences, unless it is empty.
    pub fn list(&mut self, items: &[String]) {
        if items.is_empty() {
            return;
        }
        self.raw("<ul>");
        for item in items {
            self.raw(&format!("<li>{}</li>", escape(item)));
        }
        self.raw("</ul>\n");
    }

    /// Opens a box that scrolls by itself where the window is narrow; closed by `</div>`.
    pub fn scroll(&mut self, name: &str) {
        let name = escape(name);
        self.raw(&format!(
            "<div class=\"scroll\" role=\"region\" tabindex=\"0\" aria-label=\"{name}\">"
        ));
    }

    /// A drawing with words under it.
    pub fn figure(&mut self, class: &str, svg: &str, caption: &str) {
        self.raw(&format!("<figure class=\"{}\">", escape(class)));
        self.scroll(caption);
        self.raw(svg);
        self.raw(&format!(
            "</div><figcaption>{}</figcaption></figure>\n",
            escape(caption)
        ));
    }

    /// A verdict: a shape of its own beside the word, so that colour is never the only sign.
    pub fn verdict(&mut self, verdict: Option<Verdict>, words: &str) {
        let (class, shape) = match verdict {
            // A ring with a tick.
            Some(Verdict::Met) => (
                "good",
                "<circle cx=\"8\" cy=\"8\" r=\"6.5\"/><path d=\"M4.5 8.2L7 10.8L11.5 5.4\"/>",
            ),
            // A triangle with a stroke.
            Some(Verdict::Provisional) => (
                "warn",
                "<path d=\"M8 1.5L15 14H1Z\"/><path d=\"M8 6V9.6M8 11.2V12.4\"/>",
            ),
            // An empty square.
            Some(Verdict::NoValue) => {
                ("none", "<rect x=\"2\" y=\"2\" width=\"12\" height=\"12\"/>")
            }
            // A square with a cross.
            Some(Verdict::Missed) => (
                "bad",
                "<rect x=\"1.5\" y=\"1.5\" width=\"13\" height=\"13\"/><path d=\"M4.5 4.5L11.5 11.5M11.5 4.5L4.5 11.5\"/>",
            ),
            // A square with a bar.
            None => (
                "bad",
                "<rect x=\"1.5\" y=\"1.5\" width=\"13\" height=\"13\"/><path d=\"M4 8H12\"/>",
            ),
        };
        self.raw(&format!(
            "<span class=\"verdict {class}\"><svg viewBox=\"0 0 16 16\" width=\"16\" height=\"16\" aria-hidden=\"true\">{shape}</svg> {}</span>",
            escape(words)
        ));
    }

    /// The whole page.
    pub fn finish(mut self) -> String {
        self.out.push_str("</main></body></html>\n");
        self.out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_text_becomes_markup() {
        let mut html = Html::new("</title><script>alert(1)</script>", "");
        html.heading(1, "<img src=x onerror=alert(1)>");
        html.say("a & b");
        html.verdict(Some(Verdict::Met), "\"met\"");
        html.scroll("\"><script>");
        let page = html.finish();
        assert!(!page.contains("<script") && !page.contains("<img"));
        assert!(page.contains("a &amp; b"));
    }
}
