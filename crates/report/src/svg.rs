//! The SVG writer: numbers, escaping and the few elements the page is made of.

use std::fmt::Write;

use survey::units::tidy;

use crate::fonts::{FAMILY, Weight};
use crate::frame::Rect;
use crate::palette::{INK, Rgb};

/// A drawing in the making.
#[derive(Debug, Default)]
pub(crate) struct Svg(String);

/// How a shape is painted.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Paint {
    fill: Option<Fill>,
    stroke: Option<(Rgb, f64)>,
    clip: Option<&'static str>,
    /// Length of a dash and of the gap after it.
    dash: Option<(f64, f64)>,
}

#[derive(Debug, Clone, Copy)]
enum Fill {
    Colour(Rgb),
    Pattern(&'static str),
}

impl Paint {
    pub fn fill(colour: Rgb) -> Self {
        Paint { fill: Some(Fill::Colour(colour)), ..Paint::default() }
    }

    pub fn pattern(id: &'static str) -> Self {
        Paint { fill: Some(Fill::Pattern(id)), ..Paint::default() }
    }

    pub fn stroke(colour: Rgb, width: f64) -> Self {
        Paint::default().edge(colour, width)
    }

    pub fn edge(self, colour: Rgb, width: f64) -> Self {
        Paint { stroke: Some((colour, width)), ..self }
    }

    /// Only inside the clip path of this id.
    pub fn clip(self, id: &'static str) -> Self {
        Paint { clip: Some(id), ..self }
    }

    /// The edge as dashes of a length with gaps between.
    pub fn dashed(self, dash: f64, gap: f64) -> Self {
        Paint { dash: Some((dash, gap)), ..self }
    }

    fn attributes(&self) -> String {
        let mut text = match self.fill {
            Some(Fill::Colour(colour)) => format!(r#"fill="{colour}""#),
            Some(Fill::Pattern(id)) => format!(r#"fill="url(#{id})""#),
            None => r#"fill="none""#.into(),
        };
        if let Some((colour, width)) = self.stroke {
            let width = number(width);
            write!(text, r#" stroke="{colour}" stroke-width="{width}""#).expect("into a string");
        }
        if let Some((dash, gap)) = self.dash {
            let (dash, gap) = (number(dash), number(gap));
            write!(text, r#" stroke-dasharray="{dash} {gap}""#).expect("into a string");
        }
        if let Some(id) = self.clip {
            write!(text, r#" clip-path="url(#{id})""#).expect("into a string");
        }
        text
    }
}

/// Which end of a line of text stands at its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// How a line of text is written.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Type {
    pub size: f64,
    pub weight: Weight,
    colour: Rgb,
    anchor: Anchor,
    halo: Option<(Rgb, f64)>,
    turned: bool,
}

impl Type {
    pub fn regular(size: f64) -> Self {
        Type {
            size,
            weight: Weight::Regular,
            colour: INK,
            anchor: Anchor::Start,
            halo: None,
            turned: false,
        }
    }

    pub fn semi_bold(size: f64) -> Self {
        Type { weight: Weight::SemiBold, ..Type::regular(size) }
    }

    pub fn colour(self, colour: Rgb) -> Self {
        Type { colour, ..self }
    }

    pub fn anchor(self, anchor: Anchor) -> Self {
        Type { anchor, ..self }
    }

    /// A rim of so many pixels around the letters.
    pub fn halo(self, colour: Rgb, width: f64) -> Self {
        Type { halo: Some((colour, width)), ..self }
    }

    /// Read from below upwards.
    pub fn turned(self) -> Self {
        Type { turned: true, ..self }
    }
}

impl Svg {
    /// Markup that is already sound.
    pub fn raw(&mut self, markup: &str) {
        self.0.push_str(markup);
        self.0.push('\n');
    }

    pub fn rect(&mut self, rect: Rect, paint: Paint) {
        let Rect { left, top, width, height } = rect;
        self.raw(&format!(
            r#"<rect x="{}" y="{}" width="{}" height="{}" {}/>"#,
            number(left),
            number(top),
            number(width),
            number(height),
            paint.attributes()
        ));
    }

    pub fn line(&mut self, from: (f64, f64), to: (f64, f64), paint: Paint) {
        self.raw(&format!(
            r#"<line x1="{}" y1="{}" x2="{}" y2="{}" {}/>"#,
            number(from.0),
            number(from.1),
            number(to.0),
            number(to.1),
            paint.attributes()
        ));
    }

    pub fn circle(&mut self, middle: (f64, f64), radius: f64, paint: Paint) {
        self.raw(&format!(
            r#"<circle cx="{}" cy="{}" r="{}" {}/>"#,
            number(middle.0),
            number(middle.1),
            number(radius),
            paint.attributes()
        ));
    }

    /// A path; where it overlaps itself it is hollow (even-odd).
    pub fn path(&mut self, path: &str, paint: Paint) {
        if !path.is_empty() {
            self.raw(&format!(
                r#"<path d="{path}" fill-rule="evenodd" stroke-linejoin="round" {}/>"#,
                paint.attributes()
            ));
        }
    }

    /// A line of text with its foot at a place.
    pub fn text(&mut self, words: &str, (x, y): (f64, f64), style: Type) {
        let (x, y) = (number(x), number(y));
        let mut markup = format!(
            r#"<text x="{x}" y="{y}" font-size="{}" fill="{}""#,
            number(style.size),
            style.colour
        );
        let mut add = |attribute: &str| {
            markup.push(' ');
            markup.push_str(attribute);
        };
        if style.weight != Weight::Regular {
            add(&format!(r#"font-weight="{}""#, style.weight.css()));
        }
        match style.anchor {
            Anchor::Start => {}
            Anchor::Middle => add(r#"text-anchor="middle""#),
            Anchor::End => add(r#"text-anchor="end""#),
        }
        if let Some((colour, width)) = style.halo {
            let width = number(2.0 * width);
            add(&format!(
                r#"stroke="{colour}" stroke-width="{width}" stroke-linejoin="round" paint-order="stroke""#
            ));
        }
        if style.turned {
            add(&format!(r#"transform="rotate(-90 {x} {y})""#));
        }
        let words = escape(words);
        self.raw(&format!("{markup}>{words}</text>"));
    }

    /// What was drawn, to stand within an SVG element.
    pub fn into_markup(self) -> String {
        self.0
    }

    /// The whole document.
    pub fn document(self, width: u32, height: u32, dpi: u32, title: &str, summary: &str) -> String {
        let (title, summary) = (escape(title), escape(summary));
        let inches = |pixels: u32| number(f64::from(pixels) / f64::from(dpi));
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{}in\" height=\"{}in\" \
             viewBox=\"0 0 {width} {height}\" role=\"img\" font-family=\"{FAMILY}, sans-serif\">\n\
             <title>{title}</title>\n<desc>{summary}</desc>\n{}</svg>\n",
            inches(width),
            inches(height),
            self.0
        )
    }
}

/// A number as the page writes it: hundredths of a pixel are far below what a print shows.
pub(crate) fn number(value: f64) -> String {
    tidy(value, 2)
}

/// Text as XML: the five special characters named, and without what XML 1.0 (section 2.2) forbids
/// or what would turn the writing direction of the rest of the line.
pub(crate) fn escape(text: &str) -> String {
    let mut escaped = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '\'' => escaped.push_str("&#39;"),
            '\t' | '\n' | '\r' => escaped.push(' '),
            '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}' | '\u{fffe}' | '\u{ffff}' => {}
            c if c.is_control() => {}
            c => escaped.push(c),
        }
    }
    escaped
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn special_and_forbidden_characters_do_no_harm() {
        assert_eq!(escape("<&\"'>"), "&lt;&amp;&quot;&#39;&gt;");
        assert_eq!(escape("a\u{0}b\u{1b}\u{202e}c\nd\u{ffff}"), "abc d");
    }

    #[test]
    fn numbers_are_short() {
        assert_eq!([1.0, 0.126, -0.001].map(number), ["1", "0.13", "0"]);
    }

    #[test]
    fn a_halo_is_painted_below_the_letters() {
        let mut svg = Svg::default();
        let style = Type::semi_bold(30.0).halo(Rgb(255, 255, 255), 3.0).anchor(Anchor::Middle);
        svg.text("3A", (10.0, 20.0), style);
        assert_eq!(
            svg.0,
            "<text x=\"10\" y=\"20\" font-size=\"30\" fill=\"#1b2430\" font-weight=\"600\" \
             text-anchor=\"middle\" stroke=\"#ffffff\" stroke-width=\"6\" stroke-linejoin=\"round\" \
             paint-order=\"stroke\">3A</text>\n"
        );
    }
}
