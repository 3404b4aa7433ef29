//! Damage: what is done to an input at random.

use crate::campaign::LONGEST_INPUT;
use crate::dictionary::{Dictionary, REAL, WHOLE};
use crate::random::Random;

/// The most changes made to one input.
const MOST_CHANGES: usize = 6;
/// The longest run of bytes that is taken out, repeated or taken from another input.
const LONGEST_RUN: usize = 256;
/// How often a run of bytes is repeated at most.
const MOST_REPEATS: usize = 400;

/// One of the inputs with one or more changes, never longer than [`LONGEST_INPUT`].
pub(crate) fn damaged(random: &mut Random, dictionary: &Dictionary, inputs: &[Vec<u8>]) -> Vec<u8> {
    let mut bytes = random.one_of(inputs).clone();
    for _ in 0..=random.below(MOST_CHANGES) {
        change(random, dictionary, &mut bytes, inputs);
    }
    bytes.truncate(LONGEST_INPUT);
    bytes
}

fn change(random: &mut Random, dictionary: &Dictionary, bytes: &mut Vec<u8>, inputs: &[Vec<u8>]) {
    let at = random.below(bytes.len() + 1);
    match random.below(13) {
        0 => flip_bit(random, bytes),
        1 => {
            let byte = random.byte();
            overwrite(bytes, at, &[byte]);
        }
        2 => insert(bytes, at, dictionary.word(random)),
        3 => insert(bytes, at, dictionary.number(random)),
        4 => replace_number(bytes, at, dictionary.number(random)),
        5 => overwrite(bytes, at, dictionary.word(random)),
        6 => {
            let number = *random.one_of(&WHOLE);
            match random.below(3) {
                0 => overwrite(bytes, at, &number.to_le_bytes()),
                1 => overwrite(bytes, at, &number.to_be_bytes()),
                _ => overwrite(bytes, at, &(number as u16).to_le_bytes()),
            }
        }
        7 => overwrite(bytes, at, &random.one_of(&REAL).to_le_bytes()),
        8 => {
            let run = run(random, bytes, at);
            bytes.drain(at..at + run);
        }
        9 => {
            let run = run(random, bytes, at);
            let repeated = bytes[at..at + run].repeat(1 + random.below(3));
            insert(bytes, at, &repeated);
        }
        10 => {
            // Nesting and counts far beyond what a file holds.
            let run = run(random, bytes, at).min(16);
            let repeated = bytes[at..at + run].repeat(random.below(MOST_REPEATS));
            insert(bytes, at, &repeated);
        }
        11 => {
            let other = random.one_of(inputs);
            splice(random, bytes, at, other);
        }
        _ => bytes.truncate(at),
    }
}

fn flip_bit(random: &mut Random, bytes: &mut [u8]) {
    let at = random.below(bytes.len());
    if let Some(byte) = bytes.get_mut(at) {
        *byte ^= 1 << random.below(8);
    }
}

/// Some length of bytes from a place on.
fn run(random: &mut Random, bytes: &[u8], at: usize) -> usize {
    random.below((bytes.len() - at).min(LONGEST_RUN) + 1)
}

fn insert(bytes: &mut Vec<u8>, at: usize, new: &[u8]) {
    bytes.splice(at..at, new.iter().copied());
}

/// Puts bytes over those that are there, as far as there are any.
fn overwrite(bytes: &mut [u8], at: usize, new: &[u8]) {
    bytes[at..].iter_mut().zip(new).for_each(|(old, new)| *old = *new);
}

/// Puts a number at the edge in the place of the first number from a place on.
fn replace_number(bytes: &mut Vec<u8>, at: usize, number: &[u8]) {
    let is_part = |byte: &u8| byte.is_ascii_digit() || b"+-.eE".contains(byte);
    let Some(start) = bytes[at..].iter().position(u8::is_ascii_digit) else {
        return;
    };
    let start = at + start;
    let length = bytes[start..].iter().take_while(|byte| is_part(byte)).count();
    bytes.splice(start..start + length, number.iter().copied());
}

/// Puts a run of another input into this one.
fn splice(random: &mut Random, bytes: &mut Vec<u8>, at: usize, other: &[u8]) {
    let from = random.below(other.len() + 1);
    let run = run(random, other, from);
    insert(bytes, at, &other[from..from + run]);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn damage_is_repeatable_and_bounded() {
        let inputs = vec![b"{\"depth_in\": 9}".to_vec(), Vec::new(), vec![b'['; LONGEST_INPUT]];
        let run = |seed| {
            let mut random = Random::from_seed(seed);
            let dictionary = Dictionary::new();
            (0..2000).map(|_| damaged(&mut random, &dictionary, &inputs)).collect::<Vec<_>>()
        };
        let first = run(7);
        assert!(first == run(7));
        assert!(first != run(8));
        assert!(first.iter().all(|bytes| bytes.len() <= LONGEST_INPUT));
    }
}
