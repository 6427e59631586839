//! The SVG writer: elements, paths and text with two fixed decimals, so that the same drawing is the same bytes.
//! It escapes every text and attribute it is given.

use std::fmt::Write;

/// Text made safe for element content and double-quoted attributes of HTML and XML alike.
///
/// Control characters other than tab and line ends have no place in either and are replaced.
pub(in crate::report) fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(c),
            c if c.is_control() => out.push('\u{fffd}'),
            c => out.push(c),
        }
    }
    out
}

/// A coordinate: two decimals, no trailing zeros, no negative zero; what is not finite is 0.
pub(in crate::report) fn place(value: f64) -> String {
    if !value.is_finite() {
        return "0".into();
    }
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" {
        "0".into()
    } else {
        text.to_owned()
    }
}

/// Attributes in the order in which they were added.
#[derive(Clone, Debug, Default)]
pub(in crate::report) struct Attributes(String);

impl Attributes {
    /// Of one class.
    pub fn class(name: &str) -> Self {
        Self::default().with("class", name)
    }

    /// With a text.
    pub fn with(mut self, name: &str, value: &str) -> Self {
        let _ = write!(self.0, " {name}=\"{}\"", escape(value));
        self
    }

    /// With a number.
    pub fn at(self, name: &str, value: f64) -> Self {
        let text = place(value);
        self.with(name, &text)
    }
}

/// Where a text is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::report) enum Anchor {
    Start,
    Middle,
    End,
}

impl Anchor {
    fn word(self) -> &'static str {
        match self {
            Self::Start => "start",
            Self::Middle => "middle",
            Self::End => "end",
        }
    }
}

/// A path of straight pieces and arcs.
#[derive(Clone, Debug, Default)]
pub(in crate::report) struct Path(String);

impl Path {
    /// Begins somewhere.
    pub fn from(x: f64, y: f64) -> Self {
        Self(format!("M{} {}", place(x), place(y)))
    }

    /// Moves without drawing.
    pub fn jump(mut self, x: f64, y: f64) -> Self {
        let _ = write!(self.0, "M{} {}", place(x), place(y));
        self
    }

    /// Draws a straight piece.
    pub fn to(mut self, x: f64, y: f64) -> Self {
        let _ = write!(self.0, "L{} {}", place(x), place(y));
        self
    }

    /// Draws an arc of a circle, clockwise on the page.
    pub fn arc(mut self, radius: f64, x: f64, y: f64) -> Self {
        let r = place(radius);
        let _ = write!(self.0, "A{r} {r} 0 0 1 {} {}", place(x), place(y));
        self
    }

    /// Closes the figure.
    pub fn close(mut self) -> Self {
        self.0.push('Z');
        self
    }
}

/// The writer. Open groups are closed by [`Pen::end`], or at the latest by [`Pen::finish`].
#[derive(Debug)]
pub(in crate::report) struct Pen {
    out: String,
    open: usize,
}

impl Pen {
    /// A drawing of this size, with a title and a description for those who do not see it.
    pub fn new(width: f64, height: f64, id: &str, title: &str, description: &str) -> Self {
        let (w, h) = (place(width.ceil()), place(height.ceil()));
        let mut out = String::new();
        let id = escape(id);
        let _ = write!(
            out,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {w} {h}\" width=\"{w}\" height=\"{h}\" role=\"img\" aria-labelledby=\"{id}-t {id}-d\"><title id=\"{id}-t\">{}</title><desc id=\"{id}-d\">{}</desc>",
            escape(title),
            escape(description)
        );
        Self { out, open: 0 }
    }

    /// Opens a group.
    pub fn group(&mut self, attributes: Attributes) {
        let _ = write!(self.out, "<g{}>", attributes.0);
        self.open += 1;
    }

    /// Closes the group opened last.
    pub fn end(&mut self) {
        if self.open > 0 {
            self.out.push_str("</g>");
            self.open -= 1;
        }
    }

    /// A straight line.
    pub fn line(&mut self, from: (f64, f64), to: (f64, f64), class: &str) {
        self.path(
            Path::from(from.0, from.1).to(to.0, to.1),
            Attributes::class(class),
        );
    }

    /// A path.
    pub fn path(&mut self, path: Path, attributes: Attributes) {
        let _ = write!(self.out, "<path d=\"{}\"{}/>", path.0, attributes.0);
    }

    /// A rectangle.
    pub fn rect(&mut self, at: (f64, f64), size: (f64, f64), class: &str) {
        let attributes = Attributes::class(class)
            .at("x", at.0)
            .at("y", at.1)
            .at("width", size.0.max(0.0))
            .at("height", size.1.max(0.0));
        let _ = write!(self.out, "<rect{}/>", attributes.0);
    }

    /// A circle.
    pub fn circle(&mut self, at: (f64, f64), radius: f64, class: &str) {
        let attributes = Attributes::class(class)
            .at("cx", at.0)
            .at("cy", at.1)
            .at("r", radius);
        let _ = write!(self.out, "<circle{}/>", attributes.0);
    }

    /// Plain text.
    pub fn text(&mut self, at: (f64, f64), anchor: Anchor, class: &str, text: &str) {
        self.rich(at, anchor, class, &escape(text));
    }

    /// Text whose content is markup already, such as figures that carry where they come from.
    pub fn rich(&mut self, at: (f64, f64), anchor: Anchor, class: &str, markup: &str) {
        let attributes = Attributes::class(class)
            .at("x", at.0)
            .at("y", at.1)
            .with("text-anchor", anchor.word());
        let _ = write!(self.out, "<text{}>{markup}</text>", attributes.0);
    }

    /// Text that reads upwards.
    pub fn upward(&mut self, at: (f64, f64), class: &str, text: &str) {
        let turn = format!("translate({} {}) rotate(-90)", place(at.0), place(at.1));
        let attributes = Attributes::class(class)
            .with("text-anchor", "middle")
            .with("transform", &turn);
        let _ = write!(self.out, "<text{}>{}</text>", attributes.0, escape(text));
    }

    /// A finished drawing moved into this one.
    pub fn inset(&mut self, x: f64, y: f64, body: &str) {
        let _ = write!(
            self.out,
            "<g transform=\"translate({} {})\">{body}</g>",
            place(x),
            place(y)
        );
    }

    /// What was drawn, without the outer element: to be moved into another drawing.
    pub fn body(mut self) -> String {
        while self.open > 0 {
            self.end();
        }
        match self.out.split_once("</desc>") {
            Some((_, body)) => body.to_owned(),
            None => self.out,
        }
    }

    /// The whole drawing.
    pub fn finish(mut self) -> String {
        while self.open > 0 {
            self.end();
        }
        self.out.push_str("</svg>");
        self.out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn text_cannot_leave_its_element_or_attribute() {
        let mut pen = Pen::new(10.0, 10.0, "a", "</title><script>", "x\" onload=\"y");
        pen.text((1.0, 2.0), Anchor::Start, "t", "<b>&'\"\u{1}");
        let svg = pen.finish();
        assert!(!svg.contains("<script>") && !svg.contains("<b>") && !svg.contains("\" onload"));
        assert!(svg.contains("&lt;b&gt;&amp;&#39;&quot;\u{fffd}"));
    }

    #[test]
    fn places_have_two_decimals_and_no_negative_zero() {
        let shown: Vec<String> = [1.0, -0.001, 2.345_6, f64::NAN, -3.5].map(place).to_vec();
        assert_eq!(shown, ["1", "0", "2.35", "0", "-3.5"]);
    }

    #[test]
    fn groups_left_open_are_closed() {
        let mut pen = Pen::new(1.0, 1.0, "a", "t", "d");
        pen.group(Attributes::class("x"));
        assert!(pen.finish().ends_with("</g></svg>"));
    }
}
