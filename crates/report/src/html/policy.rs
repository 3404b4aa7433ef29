//! What a page may do: nothing but what it was written with. Its scripts and styles are named by
//! their hashes (W3C, Content Security Policy Level 3, section 2.3.1), and nothing is fetched or sent.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use sha2::{Digest, Sha256};

/// The policy of a page with such scripts and styles, as the content of its `meta` element.
pub(crate) fn policy(scripts: &[&str], styles: &[&str]) -> String {
    let hashes = |sources: &[&str]| sources.iter().map(|s| hash(s)).collect::<Vec<_>>().join(" ");
    format!(
        "default-src 'none'; script-src {}; style-src {}; font-src data:; img-src data:; \
         connect-src 'none'; base-uri 'none'; form-action 'none'",
        hashes(scripts),
        hashes(styles)
    )
}

/// The hash of what stands between the tags, as a policy names it.
pub(crate) fn hash(content: &str) -> String {
    format!("'sha256-{}'", STANDARD.encode(Sha256::digest(content.as_bytes())))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The SHA-256 of `abc` is ba7816bf … 20015ad (FIPS 180-4, example of NIST); as base64 it is this.
    #[test]
    fn a_hash_is_that_of_the_content() {
        assert_eq!(hash("abc"), "'sha256-ungWv48Bz+pBQUDeXa4iI7ADYaOWF3qctBD/YfIAFa0='");
    }

    #[test]
    fn nothing_is_allowed_but_what_is_named() {
        let policy = policy(&["a"], &["b", "c"]);
        assert!(policy.starts_with("default-src 'none'; script-src 'sha256-"), "{policy}");
        assert!(policy.contains("connect-src 'none'"));
        assert!(!policy.contains("unsafe") && !policy.contains('*') && !policy.contains("http"));
        assert_eq!(policy.matches("'sha256-").count(), 3);
    }
}
