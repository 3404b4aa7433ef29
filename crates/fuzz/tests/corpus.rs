//! Every kept input through its reader, as it is.

use fuzz::{TARGETS, corpus_of};

#[test]
fn every_kept_input_is_read_or_refused() {
    for target in TARGETS {
        let corpus = corpus_of(&target).expect("each target has a folder");
        let mut read = 0;
        for (path, bytes) in corpus {
            let answer = std::panic::catch_unwind(|| (target.read)(&bytes));
            let answer = answer.unwrap_or_else(|_| panic!("{} panicked", path.display()));
            read += usize::from(answer.starts_with("read"));
        }
        assert!(read > 0, "{}: nothing in the corpus can be read", target.name);
    }
}
