//! What the examples share: points in, values out, seconds.

use std::error::Error;
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
pub fn write_values(file: &str, values: &[f64]) -> std::io::Result<()> {
    let bytes: Vec<u8> = values.iter().flat_map(|value| value.to_le_bytes()).collect();
    std::fs::write(file, bytes)
}

/// A number as it is typed.
pub fn parse<T: FromStr>(text: &str) -> Result<T, String> {
    text.parse().map_err(|_| format!("not a number: {text}"))
}

/// Does something and says how many seconds it took, of all processors together and on the clock.
pub fn timed<T>(what: impl FnOnce() -> T) -> T {
    let (cpu, wall) = (cpu_time(), Instant::now());
    let result = what();
    let (cpu, wall) = (cpu_time() - cpu, wall.elapsed());
    println!("cpu_s {:.6} wall_s {:.6}", cpu.as_secs_f64(), wall.as_secs_f64());
    result
}

/// Processor time of all threads of this process so far.
fn cpu_time() -> Duration {
    let time = clock_gettime(ClockId::ProcessCPUTime);
    Duration::new(time.tv_sec.unsigned_abs(), time.tv_nsec as u32)
}
