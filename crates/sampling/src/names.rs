//! Short names of spots.

/// Letters that new names may begin with, the first that no kept name begins with.
const LETTERS: [char; 8] = ['P', 'N', 'Q', 'X', 'Y', 'Z', 'V', 'W'];

/// A name for each spot, in walking order: the kept one of a spot that was probed before, so that visits can be
/// paired, and for all others a letter and a number, P001 on. The letter is one that no kept name has before a
/// number.
pub fn spot_names(kept: &[Option<&str>]) -> Vec<String> {
    let is_taken = |letter: char| {
        kept.iter().flatten().any(|name| {
            let mut letters = name.chars();
            let first = letters.next().is_some_and(|first| first.eq_ignore_ascii_case(&letter));
            first && letters.next().is_some_and(|next| next.is_ascii_digit())
        })
    };
    let letter = LETTERS.into_iter().find(|&letter| !is_taken(letter));
    let prefix = letter.map_or_else(|| "NEW".to_owned(), String::from);
    let digits = kept.len().to_string().len().max(3);
    let mut number = 0;
    let name = |kept: &Option<&str>| match kept {
        Some(name) => (*name).to_owned(),
        None => {
            number += 1;
            format!("{prefix}{number:0digits$}")
        }
    };
    kept.iter().map(name).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn new_names_are_short_and_none_is_taken() {
        assert_eq!(spot_names(&[None, None]), ["P001", "P002"]);
        assert_eq!(spot_names(&[Some("A007"), None]), ["A007", "P001"]);
        assert_eq!(spot_names(&[Some("p7"), None, Some("Pond")]), ["p7", "N001", "Pond"]);
        assert_eq!(spot_names(&vec![None; 1_000])[999], "P1000");
    }
}
