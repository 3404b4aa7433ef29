//! Attributes of an element of TASKDATA, as texts and numbers.

use quick_xml::events::BytesStart;

use super::designator::designator;

/// More attributes of one element than this are none.
const MOST_ATTRIBUTES: usize = 64;

/// The attributes of an element.
pub(super) struct Attributes(Vec<(String, String)>);

impl Attributes {
    pub fn of(start: &BytesStart) -> Attributes {
        let mut attributes = start.attributes();
        let attributes = attributes.with_checks(false).take(MOST_ATTRIBUTES).flatten();
        let text = attributes.filter_map(|attribute| {
            let name = String::from_utf8_lossy(attribute.key.local_name().as_ref()).into_owned();
            Some((name, attribute.unescape_value().ok()?.into_owned()))
        });
        Attributes(text.collect())
    }

    pub fn text(&self, name: &str) -> Option<String> {
        self.0.iter().find(|(key, _)| key == name).map(|(_, text)| text.clone())
    }

    pub fn needed(&self, element: &str, name: &str) -> Result<String, String> {
        self.text(name).ok_or_else(|| format!("a {element} has no attribute {name}"))
    }

    pub fn number<T: std::str::FromStr>(&self, element: &str, name: &str) -> Result<T, String> {
        let text = self.needed(element, name)?;
        text.trim().parse().map_err(|_| {
            format!("attribute {name} of a {element} is {}, not a number it may be", shown(&text))
        })
    }
}

/// A text of a stranger, short and plain, in quotes.
pub(super) fn shown(text: &str) -> String {
    format!("{:?}", designator(text, ""))
}
