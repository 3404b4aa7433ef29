//! Short names for files.

/// The longest slug, characters.
const LONGEST: usize = 20;

/// Lower-case ASCII letters, digits and `_`, at most 20 characters, other than those taken; letters
/// outside ASCII are left out.
pub(crate) fn slug(name: &str, taken: &[String]) -> String {
    let lower = name.to_lowercase();
    let words = lower.split(|c: char| !c.is_ascii_alphanumeric()).filter(|word| !word.is_empty());
    let joined = words.collect::<Vec<_>>().join("_");
    let plain = if joined.is_empty() { "product" } else { &joined };
    let cut = |length: usize| plain[..plain.len().min(length)].trim_end_matches('_');
    let mut slug = cut(LONGEST).to_owned();
    let mut number = 1;
    while taken.contains(&slug) {
        number += 1;
        let end = format!("_{number}");
        slug = format!("{}{end}", cut(LONGEST - end.len()));
    }
    slug
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slugs_are_short_plain_and_unique() {
        let mut taken = Vec::new();
        for (name, expected) in [
            ("Gypsum", "gypsum"),
            ("gypsum", "gypsum_2"),
            ("Pelleted lime, 98 % through a 100-mesh sieve", "pelleted_lime_98_thr"),
            ("Pelleted lime, 98 % through a 60-mesh sieve", "pelleted_lime_98_t_2"),
            ("Kompost „grün“", "kompost_gr_n"),
            ("石膏", "product"),
        ] {
            let slug = slug(name, &taken);
            assert_eq!(slug, expected);
            taken.push(slug);
        }
    }
}
