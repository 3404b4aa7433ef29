//! Texts of users in the files of a plan: one rule for all formats.
//!
//! White space, line ends among it, becomes one blank; characters that control a device or the direction
//! of text, and those that XML 1.0 forbids, are left out. A format that takes ASCII only gets letters
//! without their marks; one with a limit gets what fits it.

use std::collections::BTreeSet;

/// A text that is one line and stands for itself.
pub(crate) fn plain(text: &str) -> String {
    let blanks = text.chars().map(|c| if c.is_whitespace() { ' ' } else { c });
    let shown: String = blanks.filter(|&c| is_plain(c)).collect();
    shown.split(' ').filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}

/// Whether a character stands for itself: not a control character, not one of the marks, embeddings,
/// overrides and isolates that turn text around (Unicode Standard Annex 9, section 2), not a byte order
/// mark, and a character of XML 1.0 (section 2.2).
pub(crate) fn is_plain(c: char) -> bool {
    let turns = matches!(c, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    !c.is_control() && !turns && !matches!(c, '\u{feff}' | '\u{fffe}' | '\u{ffff}')
}

/// A plain text within an element or an attribute's quotes.
pub(crate) fn xml(text: &str) -> String {
    escaped(&plain(text))
}

/// A text within an element or an attribute's quotes (XML 1.0, section 2.4).
pub(crate) fn escaped(text: &str) -> String {
    text.chars().fold(String::with_capacity(text.len()), |mut escaped, c| {
        match c {
            '&' => escaped.push_str("&amp;"),
            '<' => escaped.push_str("&lt;"),
            '>' => escaped.push_str("&gt;"),
            '"' => escaped.push_str("&quot;"),
            '\'' => escaped.push_str("&apos;"),
            other => escaped.push(other),
        }
        escaped
    })
}

/// A plain text in ASCII: Latin letters lose their marks, ligatures become two letters, dashes and curved
/// quotes straight ones; any other character becomes a question mark.
pub(crate) fn ascii(text: &str) -> String {
    plain(text).chars().fold(String::new(), |mut ascii, c| {
        match c {
            _ if c.is_ascii() => ascii.push(c),
            _ => ascii.push_str(in_ascii(c)),
        }
        ascii
    })
}

fn in_ascii(c: char) -> &'static str {
    if ('\u{300}'..='\u{36f}').contains(&c) {
        // A mark of its own behind its letter.
        return "";
    }
    #[rustfmt::skip]
    const LETTERS: [(&str, &str); 51] = [
        ("àáâãäåāăą", "a"), ("ÀÁÂÃÄÅĀĂĄ", "A"), ("çćĉċč", "c"), ("ÇĆĈĊČ", "C"), ("ďđð", "d"), ("ĎĐÐ", "D"),
        ("èéêëēĕėęě", "e"), ("ÈÉÊËĒĔĖĘĚ", "E"), ("ĝğġģ", "g"), ("ĜĞĠĢ", "G"), ("ĥħ", "h"), ("ĤĦ", "H"),
        ("ìíîïĩīĭįı", "i"), ("ÌÍÎÏĨĪĬĮİ", "I"), ("ĵ", "j"), ("Ĵ", "J"), ("ķ", "k"), ("Ķ", "K"),
        ("ĺļľŀł", "l"), ("ĹĻĽĿŁ", "L"), ("ñńņň", "n"), ("ÑŃŅŇ", "N"), ("òóôõöøōŏő", "o"), ("ÒÓÔÕÖØŌŎŐ", "O"),
        ("ŕŗř", "r"), ("ŔŖŘ", "R"), ("śŝşšș", "s"), ("ŚŜŞŠȘ", "S"), ("ţťŧț", "t"), ("ŢŤŦȚ", "T"),
        ("ùúûüũūŭůűų", "u"), ("ÙÚÛÜŨŪŬŮŰŲ", "U"), ("ŵ", "w"), ("Ŵ", "W"), ("ýÿŷ", "y"), ("ÝŶŸ", "Y"),
        ("źżž", "z"), ("ŹŻŽ", "Z"), ("ß", "ss"), ("æ", "ae"), ("Æ", "AE"), ("œ", "oe"), ("Œ", "OE"),
        ("þ", "th"), ("Þ", "Th"), ("‐‑‒–—―−", "-"), ("‘’‚′", "'"), ("“”„″", "\""), ("…", "..."), ("×", "x"),
        ("≥", ">="),
    ];
    let of = LETTERS.iter().find(|(letters, _)| letters.contains(c));
    of.map_or("?", |(_, ascii)| ascii)
}

/// The beginning of a text that takes at most so many bytes, cut between characters, without a blank at
/// its end.
pub(crate) fn cut(text: &str, most_bytes: usize) -> &str {
    let end = (0..=most_bytes.min(text.len())).rev().find(|&end| text.is_char_boundary(end));
    text[..end.unwrap_or(0)].trim_end()
}

/// A text shortened to so many of what `shortened` counts and, where that is taken, a number behind it; it is
/// taken then.
pub(crate) fn differing(
    taken: &mut BTreeSet<String>,
    text: &str,
    most: usize,
    shortened: impl Fn(&str, usize) -> String,
) -> String {
    let first = shortened(text, most);
    let numbered = (2_u32..).map(|number| {
        let number = format!(" {number}");
        shortened(&first, most.saturating_sub(number.len())) + &number
    });
    let mut names = std::iter::once(first.clone()).chain(numbered);
    let name = names.find(|name| !taken.contains(name)).expect("numbers do not end");
    taken.insert(name.clone());
    name
}

/// Texts of at most so many bytes that differ from each other: where two no longer do, the later one gets
/// a number.
pub(crate) struct Short {
    most_bytes: usize,
    taken: BTreeSet<String>,
}

impl Short {
    pub(crate) fn new(most_bytes: usize) -> Self {
        Short { most_bytes, taken: BTreeSet::new() }
    }

    /// The text, shortened and not given before; `otherwise` where nothing of it is left.
    pub(crate) fn next(&mut self, text: &str, otherwise: &str) -> String {
        let text = if text.is_empty() { otherwise } else { text };
        let shortened = |text: &str, most: usize| cut(text, most).to_owned();
        differing(&mut self.taken, text, self.most_bytes, shortened)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_text_becomes_one_plain_line() {
        assert_eq!(plain("  North\t\r\nBench \u{85} 2 "), "North Bench 2");
        assert_eq!(plain("a\u{0}b\u{1b}[31mc\u{7f}\u{202e}"), "ab[31mc");
        assert_eq!(xml("]]> <\"'&\u{1}"), "]]&gt; &lt;&quot;&apos;&amp;");
    }

    #[test]
    fn ascii_keeps_letters_without_their_marks() {
        assert_eq!(
            ascii("Åsa’s Höhe – Ærø, 3–6 in ≥ „ß“ 土"),
            "Asa's Hohe - AEro, 3-6 in >= \"ss\" ?"
        );
    }

    #[test]
    fn short_texts_differ() {
        let mut short = Short::new(5);
        let given =
            ["Å Å Å Å", "Å Å Å", "", "abcdefg", "abcdefg"].map(|text| short.next(text, "Z"));
        assert_eq!(given, ["Å Å", "Å 2", "Z", "abcde", "abc 2"]);
    }

    proptest! {
        #[test]
        fn any_text_is_tamed(text in any::<String>(), most in 0_usize..40) {
            let ascii = ascii(&text);
            prop_assert!(ascii.bytes().all(|byte| (b' '..=b'~').contains(&byte)), "{}", ascii);
            let plain = plain(&text);
            prop_assert_eq!(super::plain(&plain), plain.clone());
            prop_assert!(cut(&plain, most).len() <= most && plain.starts_with(cut(&plain, most)));
        }
    }
}
