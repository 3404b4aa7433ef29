//! Inter, built in: the only font of the page, for the picture, the charts and for measuring text.

use std::sync::{Arc, Once};

use plotters::style::{FontFamily, FontStyle, register_font};
use resvg::usvg::fontdb::Database;

/// Name of the family.
pub(crate) const FAMILY: &str = "Inter";

static REGULAR: &[u8] = include_bytes!("../assets/fonts/Inter-Regular.ttf");
static SEMI_BOLD: &[u8] = include_bytes!("../assets/fonts/Inter-SemiBold.ttf");

/// Height of Inter's lines over its em: (1984 + 494) / 2048, from its `hhea` table. `ab_glyph`, which
/// measures for plotters, sizes a font by this height, SVG by the em.
const LINE_PER_EM: f64 = 2478.0 / 2048.0;

/// Height of capitals and digits over the em: 1490 / 2048, from Inter's `OS/2` table.
pub(crate) const CAP_HEIGHT: f64 = 0.728;

/// How heavy text is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Weight {
    Regular,
    SemiBold,
}

impl Weight {
    pub fn css(self) -> &'static str {
        match self {
            Weight::Regular => "400",
            Weight::SemiBold => "600",
        }
    }

    fn style(self) -> FontStyle {
        match self {
            Weight::Regular => FontStyle::Normal,
            Weight::SemiBold => FontStyle::Bold,
        }
    }
}

/// Makes the fonts known to plotters, once. Without it plotters guesses widths and says nothing.
pub(crate) fn register() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        for (weight, bytes) in [(Weight::Regular, REGULAR), (Weight::SemiBold, SEMI_BOLD)] {
            if register_font(FAMILY, weight.style(), bytes).is_err() {
                unreachable!("the built-in fonts are sound");
            }
        }
    });
}

/// The fonts for resvg: these two, and none of the machine's.
pub(crate) fn database() -> Arc<Database> {
    let mut fonts = Database::new();
    fonts.load_font_data(REGULAR.to_vec());
    fonts.load_font_data(SEMI_BOLD.to_vec());
    fonts.set_sans_serif_family(FAMILY);
    Arc::new(fonts)
}

/// Width of a line of text, pixels.
pub(crate) fn width(text: &str, size: f64, weight: Weight) -> f64 {
    /// Measured in thousandths of the em, since plotters rounds down to whole pixels.
    const FINE: f64 = 1000.0;
    register();
    let font = plotters::style::FontDesc::new(
        FontFamily::Name(FAMILY),
        FINE * LINE_PER_EM,
        weight.style(),
    );
    let (thousandths, _) = font.box_size(text).expect("registered above");
    f64::from(thousandths) / FINE * size
}

/// Cuts a line so that it fits, with `…` where something is missing.
pub(crate) fn shorten(text: &str, size: f64, weight: Weight, room: f64) -> String {
    if width(text, size, weight) <= room {
        return text.into();
    }
    let mut kept: Vec<char> = text.chars().collect();
    // No letter is narrower than a tenth of the em: what is far beyond need not be measured.
    kept.truncate((room / size * 10.0) as usize + 1);
    loop {
        let line: String = kept.iter().collect::<String>().trim_end().to_owned() + "…";
        if kept.is_empty() || width(&line, size, weight) <= room {
            return line;
        }
        kept.pop();
    }
}

/// Breaks text into lines that fit; a number stays with its unit and its sign. A single word that does not fit is
/// shortened.
pub(crate) fn wrap(text: &str, size: f64, weight: Weight, room: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in words(text) {
        if let Some(line) = lines.last_mut() {
            let longer = format!("{line} {word}");
            if width(&longer, size, weight) <= room {
                *line = longer;
                continue;
            }
        }
        lines.push(shorten(&word, size, weight, room));
    }
    lines
}

/// The same in no more than so many lines; the last ends in `…` where words are left out.
pub(crate) fn wrap_to(
    text: &str,
    size: f64,
    weight: Weight,
    room: f64,
    most: usize,
) -> Vec<String> {
    let mut lines = wrap(text, size, weight, room);
    if lines.len() > most {
        lines.truncate(most);
        if let Some(last) = lines.last_mut() {
            *last = with_ellipsis(last, size, weight, room);
        }
    }
    lines
}

/// A line with `…` at its end, cut where that needs room.
fn with_ellipsis(line: &str, size: f64, weight: Weight, room: f64) -> String {
    let mut kept = line.trim_end_matches('…').to_owned();
    loop {
        let line = format!("{}…", kept.trim_end());
        if kept.is_empty() || width(&line, size, weight) <= room {
            return line;
        }
        kept.pop();
    }
}

/// Words, a number and its unit as one.
fn words(text: &str) -> Vec<String> {
    const UNITS: [&str; 11] = ["%", "in", "in²", "cm", "cm²", "ft", "m", "ac", "ha", "psi", "kPa"];
    let mut words: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        let is_unit = UNITS.contains(&word.trim_end_matches(['.', ',', ';', ':', ')']));
        let is_sign = |word: &str| ["=", "<", ">", "≤", "≥"].contains(&word);
        match words.last_mut() {
            Some(last)
                if is_unit && last.ends_with(|c: char| c.is_ascii_digit())
                    || is_sign(word)
                    || last.rsplit(' ').next().is_some_and(is_sign) =>
            {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.into()),
        }
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fonts_are_registered_for_charts() {
        register();
        for weight in [Weight::Regular, Weight::SemiBold] {
            let font =
                plotters::style::FontDesc::new(FontFamily::Name(FAMILY), 20.0, weight.style());
            assert!(font.box_size("8").is_ok());
        }
        assert!(width("Depth", 20.0, Weight::SemiBold) > width("Depth", 20.0, Weight::Regular));
    }

    #[test]
    fn text_is_as_wide_as_it_is_drawn() {
        let svg = r#"<svg xmlns="http://www.w3.org/2000/svg" width="900" height="90"><text x="0"
            y="50" font-family="Inter" font-size="40">Depth of the loose layer</text></svg>"#;
        let options = resvg::usvg::Options { fontdb: database(), ..Default::default() };
        let tree = resvg::usvg::Tree::from_str(svg, &options).unwrap();
        let drawn = f64::from(tree.root().abs_bounding_box().width());
        let measured = width("Depth of the loose layer", 40.0, Weight::Regular);
        assert!((measured / drawn - 1.0).abs() < 0.03, "{measured} {drawn}");
    }

    #[test]
    fn long_text_is_shortened_to_fit() {
        let long = "long name of a field ".repeat(20);
        let short = shorten(&long, 30.0, Weight::SemiBold, 400.0);
        assert!(short.ends_with('…') && width(&short, 30.0, Weight::SemiBold) <= 400.0);
        assert_eq!(shorten("Home", 30.0, Weight::Regular, 400.0), "Home");
    }

    #[test]
    fn wrapped_lines_fit_and_keep_every_word() {
        let text = "the loose layer ends where the gauge first reads the threshold";
        let lines = wrap(text, 20.0, Weight::Regular, 200.0);
        assert!(lines.len() > 2);
        assert!(lines.iter().all(|line| width(line, 20.0, Weight::Regular) <= 200.0));
        assert_eq!(lines.join(" "), text);
    }

    #[test]
    fn left_out_lines_are_owned_up_to() {
        let text = "the loose layer ends where the gauge first reads the threshold";
        let lines = wrap_to(text, 20.0, Weight::Regular, 200.0, 2);
        assert_eq!(lines.len(), 2);
        assert!(lines[1].ends_with('…') && width(&lines[1], 20.0, Weight::Regular) <= 200.0);
        assert_eq!(wrap_to("short", 20.0, Weight::Regular, 200.0, 2), ["short"]);
    }

    #[test]
    fn a_number_stays_with_its_unit() {
        assert_eq!(
            words("error 4.4 in, reach 326 ft. (21 %)"),
            ["error", "4.4 in,", "reach", "326 ft.", "(21 %)"]
        );
        assert_eq!(words("it is so: p < 0.001."), ["it", "is", "so:", "p < 0.001."]);
    }
}
