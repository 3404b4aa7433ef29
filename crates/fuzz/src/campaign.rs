//! One run: inputs damaged and read until the time is over or one fails.

use std::collections::BTreeSet;
use std::fs;
use std::panic::catch_unwind;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError, mpsc};
use std::thread;
use std::time::{Duration, Instant};

use crate::dictionary::Dictionary;
use crate::memory::{MOST_MEMORY_KIB, peak_memory_kib};
use crate::mutator::damaged;
use crate::random::Random;
use crate::targets::Target;

/// The longest input, bytes.
pub const LONGEST_INPUT: usize = 64 * 1024;
/// The longest a reader may take for one input; about a thousand times what it takes for most.
pub const SLOWEST: Duration = Duration::from_secs(5);
/// The most inputs that join the corpus of a run.
const MOST_JOINED: usize = 1000;

/// Inputs for one target, damaged from a seed for some time.
#[derive(Clone)]
pub struct Campaign {
    /// What reads.
    pub target: Target,
    /// The kept inputs, of which there must be one.
    pub corpus: Vec<Vec<u8>>,
    /// Where the random numbers begin.
    pub seed: u64,
    /// For how long.
    pub time: Duration,
}

/// What a run did.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tally {
    /// How many inputs were read.
    pub inputs: u64,
    /// How many different answers the reader gave.
    pub answers: usize,
    /// The longest that one input took.
    pub slowest: Duration,
}

/// An input that a reader cannot stand.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Failure {
    /// The input.
    pub input: Vec<u8>,
    /// What went wrong.
    pub problem: String,
}

/// The kept inputs of a target, by name: the files of `corpus/<target>/`.
///
/// # Errors
/// When the folder cannot be read.
pub fn corpus_of(target: &Target) -> std::io::Result<Vec<(PathBuf, Vec<u8>)>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("corpus").join(target.name);
    let mut paths = fs::read_dir(folder)?
        .map(|entry| entry.map(|entry| entry.path()))
        .collect::<std::io::Result<Vec<_>>>()?;
    paths.sort();
    paths.into_iter().map(|path| fs::read(&path).map(|bytes| (path, bytes))).collect()
}

/// The input being read, and since when; shared with the watch.
type Current = Arc<Mutex<(Vec<u8>, Instant)>>;

impl Campaign {
    /// Runs the kept inputs as they are, then damaged ones until the time is over.
    ///
    /// # Errors
    /// The first input that makes the target panic, takes longer than [`SLOWEST`] or takes more memory
    /// than [`MOST_MEMORY_KIB`]. A target that never ends is left behind on its thread.
    pub fn run(self) -> Result<Tally, Failure> {
        let current: Current = Arc::new(Mutex::new((Vec::new(), Instant::now())));
        let (tell, told) = mpsc::channel();
        let shared = Arc::clone(&current);
        thread::spawn(move || tell.send(self.inputs(&shared)));
        loop {
            match told.recv_timeout(SLOWEST) {
                Ok(result) => return result,
                Err(mpsc::RecvTimeoutError::Timeout) => {
                    let current = current.lock().unwrap_or_else(PoisonError::into_inner);
                    if current.1.elapsed() > SLOWEST {
                        let problem = format!("took longer than {SLOWEST:?}");
                        return Err(Failure { input: current.0.clone(), problem });
                    }
                }
                Err(mpsc::RecvTimeoutError::Disconnected) => {
                    let current = current.lock().unwrap_or_else(PoisonError::into_inner);
                    let problem = "the thread ended".into();
                    return Err(Failure { input: current.0.clone(), problem });
                }
            }
        }
    }

    fn inputs(self, current: &Current) -> Result<Tally, Failure> {
        let mut pool = self.corpus;
        let mut random = Random::from_seed(self.seed);
        let dictionary = Dictionary::new();
        let mut answers = BTreeSet::new();
        let mut tally = Tally { inputs: 0, answers: 0, slowest: Duration::ZERO };
        let kept = pool.clone();
        let mut kept = kept.into_iter();
        let started = Instant::now();
        loop {
            let input = match kept.next() {
                Some(input) => input,
                None if started.elapsed() >= self.time => break,
                None => damaged(&mut random, &dictionary, &pool),
            };
            *current.lock().unwrap_or_else(PoisonError::into_inner) =
                (input.clone(), Instant::now());
            let (answer, took) = read(&self.target, &input)?;
            tally.inputs += 1;
            tally.slowest = tally.slowest.max(took);
            if answers.insert(kind_of(&answer)) && pool.len() < MOST_JOINED {
                pool.push(input);
            }
        }
        tally.answers = answers.len();
        Ok(tally)
    }
}

/// Reads one input; what the target says and how long it took.
fn read(target: &Target, input: &[u8]) -> Result<(String, Duration), Failure> {
    let before_kib = peak_memory_kib();
    let started = Instant::now();
    let result = catch_unwind(|| (target.read)(input));
    let took = started.elapsed();
    let failure = |problem| Failure { input: input.to_vec(), problem };
    let answer = result.map_err(|_| failure("panicked; the message is above".into()))?;
    if took > SLOWEST {
        return Err(failure(format!("took {took:?}")));
    }
    // The system counts in batches, so that its peak may even fall a little.
    let grown =
        before_kib.zip(peak_memory_kib()).map(|(before, after)| after.saturating_sub(before));
    match grown {
        Some(kib) if kib > MOST_MEMORY_KIB => Err(failure(format!("took {kib} KiB of memory"))),
        _ => Ok((answer, took)),
    }
}

/// An answer without what is of this one input alone: numbers and what stands in quotes.
fn kind_of(answer: &str) -> String {
    let mut quoted = false;
    let kept = answer.chars().filter(|c| {
        quoted ^= *c == '"';
        !quoted && c.is_alphabetic()
    });
    kept.take(400).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn campaign(read: fn(&[u8]) -> String) -> Result<Tally, Failure> {
        let target = Target { name: "test", read };
        let corpus = vec![b"abc".to_vec()];
        Campaign { target, corpus, seed: 1, time: Duration::from_millis(200) }.run()
    }

    #[test]
    fn a_panic_keeps_its_input() {
        let failure = campaign(|bytes| {
            assert!(!bytes.contains(&b'{'), "a brace (this test wants a panic)");
            String::new()
        });
        let failure = failure.unwrap_err();
        assert!(failure.input.contains(&b'{') && failure.problem.contains("panicked"));
    }

    #[test]
    fn a_sound_reader_is_run_to_the_end() {
        let tally = campaign(|bytes| format!("{} bytes, {:?}", bytes.len(), "x")).unwrap();
        assert!(tally.inputs > 10);
        assert_eq!(tally.answers, 1);
    }
}
