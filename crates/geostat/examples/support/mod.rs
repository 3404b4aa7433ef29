//! What the examples share: points in, values out, seconds.

use std::error::Error;
use std::io::Write;
use std::str::FromStr;
use std::time::{Duration, Instant};

use geostat::{Sample, Samples};
use rustix::time::{ClockId, clock_gettime};

/// Reads a file with a header and the columns easting, northing, value.
pub fn read_samples(file: &str) -> Result<Samples, Box<dyn Error>> {
    let text = std::fs::read_to_string(file)?;
    let sample = |line: &str| -> Result<Sample, Box<dyn Error>> {
        let mut numbers = [0.0; 3];
        let mut fields = line.split(',');
        for number in &mut numbers {
            *number = parse(fields.next().ok_or_else(|| format!("not three numbers: {line}"))?)?;
        }
        let [easting_m, northing_m, value] = numbers;
        Ok(Sample { easting_m, northing_m, value })
    };
    let samples = text.lines().skip(1).map(sample).collect::<Result<_, _>>()?;
    Ok(Samples::new(samples)?)
}

/// Writes numbers one after the other, little-endian.
pub fn write_values(to: &mut impl Write, values: &[f64]) -> std::io::Result<()> {
    for value in values {
        to.write_all(&value.to_le_bytes())?;
    }
    Ok(())
}

/// A number as it is typed.
pub fn parse<T: FromStr>(text: &str) -> Result<T, String> {
    text.parse().map_err(|_| format!("not a number: {text}"))
}

/// Seconds of all processors together and on the clock, added up.
#[derive(Default)]
pub struct Stopwatch {
    cpu: Duration,
    wall: Duration,
}

impl Stopwatch {
    /// Does something and adds the time it took.
    pub fn time<T>(&mut self, what: impl FnOnce() -> T) -> T {
        let (cpu, wall) = (cpu_time(), Instant::now());
        let result = what();
        self.cpu += cpu_time() - cpu;
        self.wall += wall.elapsed();
        result
    }

    /// Says what it has come to.
    pub fn print(&self) {
        println!("cpu_s {:.6} wall_s {:.6}", self.cpu.as_secs_f64(), self.wall.as_secs_f64());
    }
}

/// Processor time of all threads of this process so far.
fn cpu_time() -> Duration {
    let time = clock_gettime(ClockId::ProcessCPUTime);
    Duration::new(time.tv_sec.unsigned_abs(), time.tv_nsec as u32)
}
