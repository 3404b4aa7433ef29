//! The HTML writer: elements, and text in which nothing is markup.

use std::fmt::Write;

use crate::svg::escape;

/// A piece of a page in the making.
#[derive(Debug, Default)]
pub(crate) struct Html(String);

impl Html {
    /// Markup that is already sound.
    pub fn raw(&mut self, markup: &str) {
        self.0.push_str(markup);
    }

    /// An element with text alone.
    pub fn element(&mut self, tag: &str, text: &str) {
        self.open(tag, &[]);
        self.text(text);
        self.close(tag);
    }

    /// An element with attributes and text alone.
    pub fn element_with(&mut self, tag: &str, attributes: &[(&str, &str)], text: &str) {
        self.open(tag, attributes);
        self.text(text);
        self.close(tag);
    }

    /// The start of an element.
    pub fn open(&mut self, tag: &str, attributes: &[(&str, &str)]) {
        write!(self.0, "<{tag}").expect("into a string");
        for (name, value) in attributes {
            write!(self.0, " {name}=\"{}\"", escape(value)).expect("into a string");
        }
        self.0.push('>');
    }

    /// The end of an element.
    pub fn close(&mut self, tag: &str) {
        writeln!(self.0, "</{tag}>").expect("into a string");
    }

    /// Text.
    pub fn text(&mut self, text: &str) {
        self.0.push_str(&escape(text));
    }

    /// A list of sentences; nothing where there are none.
    pub fn list(&mut self, items: &[String]) {
        if items.is_empty() {
            return;
        }
        self.open("ul", &[]);
        for item in items {
            self.element("li", item);
        }
        self.close("ul");
    }

    /// What was written.
    pub fn into_string(self) -> String {
        self.0
    }
}
