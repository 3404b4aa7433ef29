//! `fuzz --seconds N --seed S [TARGET]`: readers fed with damaged files, for some time.

#![expect(clippy::print_stderr, reason = "a command for the terminal says what it does")]

use std::fs;
use std::path::Path;
use std::process::ExitCode;
use std::time::Duration;

use fuzz::{Campaign, Failure, TARGETS, Target, corpus_of, peak_memory_kib};

const USAGE: &str = "usage: fuzz [--seconds N] [--seed S] [TARGET]";
const FAILURES: &str = "target/fuzz-failures";

fn main() -> ExitCode {
    match Request::from_arguments(std::env::args().skip(1)).map(run) {
        Ok(Ok(())) => ExitCode::SUCCESS,
        Ok(Err(problem)) => {
            eprintln!("error: {problem}");
            ExitCode::FAILURE
        }
        Err(problem) => {
            let names: Vec<&str> = TARGETS.iter().map(|target| target.name).collect();
            eprintln!("error: {problem}\n{USAGE}\ntargets: {}", names.join(", "));
            ExitCode::from(2)
        }
    }
}

/// What was asked for.
struct Request {
    seconds: u64,
    seed: u64,
    targets: Vec<Target>,
}

impl Request {
    fn from_arguments(mut arguments: impl Iterator<Item = String>) -> Result<Self, String> {
        let mut request = Request { seconds: 30, seed: 1, targets: TARGETS.to_vec() };
        while let Some(argument) = arguments.next() {
            let mut number = || {
                let value = arguments.next().and_then(|value| value.parse().ok());
                value.ok_or_else(|| format!("{argument} needs a number"))
            };
            match argument.as_str() {
                "--seconds" => request.seconds = number()?,
                "--seed" => request.seed = number()?,
                name => {
                    let target = TARGETS.iter().find(|target| target.name == name);
                    let target = target.ok_or_else(|| format!("no target {name:?}"))?;
                    request.targets = vec![*target];
                }
            }
        }
        Ok(request)
    }
}

/// Each target in turn, all in the time given.
fn run(request: Request) -> Result<(), String> {
    let time = Duration::from_secs(request.seconds) / request.targets.len() as u32;
    for target in request.targets {
        let corpus = corpus_of(&target).map_err(|error| format!("{}: {error}", target.name))?;
        let corpus = corpus.into_iter().map(|(_, bytes)| bytes).collect();
        let campaign = Campaign { target, corpus, seed: request.seed, time };
        let tally = campaign.run().map_err(|failure| kept(&target, &failure))?;
        eprintln!(
            "{:<10} {:>7} inputs, {:>4} answers, slowest {:>4} ms",
            target.name,
            tally.inputs,
            tally.answers,
            tally.slowest.as_millis()
        );
    }
    if let Some(peak_kib) = peak_memory_kib() {
        eprintln!("memory     {:>7} MiB at most", peak_kib / 1024);
    }
    Ok(())
}

/// Keeps the input that failed; says where and what to do with it.
fn kept(target: &Target, failure: &Failure) -> String {
    let file = Path::new(FAILURES).join(format!("{}-{}", target.name, failure.input.len()));
    let written = fs::create_dir_all(FAILURES).and_then(|()| fs::write(&file, &failure.input));
    let place = match written {
        Ok(()) => format!("the input is {}; move it to corpus/{}", file.display(), target.name),
        Err(error) => format!("the input could not be kept: {error}"),
    };
    format!("{}: {}; {place}", target.name, failure.problem)
}
