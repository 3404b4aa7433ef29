//! XML 1.0 as TASKDATA needs it: elements with attributes, no text between them.

use std::fmt::{Display, Write};

use crate::plain_text::escaped;

/// An element.
#[derive(Clone)]
pub(super) struct Element {
    name: &'static str,
    attributes: Vec<(&'static str, String)>,
    children: Vec<Element>,
}

impl Element {
    pub fn new(name: &'static str) -> Element {
        Element { name, attributes: Vec::new(), children: Vec::new() }
    }

    /// The element with one more attribute.
    pub fn with(mut self, name: &'static str, value: impl Display) -> Element {
        self.attributes.push((name, value.to_string()));
        self
    }

    /// The element with more children.
    pub fn holding(mut self, children: impl IntoIterator<Item = Element>) -> Element {
        self.children.extend(children);
        self
    }

    /// The document of which this is the root, one element a line.
    pub fn document(&self) -> String {
        let mut text = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
        self.write(&mut text, 0);
        text
    }

    fn write(&self, text: &mut String, depth: usize) {
        let Element { name, attributes, children } = self;
        let indent = " ".repeat(depth);
        let attributes: String = attributes
            .iter()
            .map(|(name, value)| format!(" {name}=\"{}\"", escaped(value)))
            .collect();
        let end = if children.is_empty() { "/>" } else { ">" };
        let mut line = |line: std::fmt::Arguments| {
            text.write_fmt(line).expect("a string takes everything");
        };
        line(format_args!("{indent}<{name}{attributes}{end}\n"));
        if !children.is_empty() {
            children.iter().for_each(|child| child.write(text, depth + 1));
            writeln!(text, "{indent}</{name}>").expect("a string takes everything");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn elements_stand_one_a_line_and_texts_are_escaped() {
        let inner = Element::new("B").with("C", 3);
        let root = Element::new("A").with("T", "]]> <\"'&ü").holding([inner, Element::new("D")]);
        let expected = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
            <A T=\"]]&gt; &lt;&quot;&apos;&amp;ü\">\n <B C=\"3\"/>\n <D/>\n</A>\n";
        assert_eq!(root.document(), expected);
    }
}
