//! How much memory the process has held at most.

use std::fs;

/// The most memory that one input may add to what the process held at most before it, KiB: 128 MiB, for
/// inputs of at most 64 KiB. It is counted input by input, since PROJ keeps some kilobytes of each
/// definition of a coordinate system that it refuses.
pub const MOST_MEMORY_KIB: u64 = 128 * 1024;

/// The greatest memory the process has held so far, KiB, where the system tells (`VmHWM` of
/// `/proc/self/status`, Linux).
pub fn peak_memory_kib() -> Option<u64> {
    let status = fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.trim().strip_suffix("kB")?.trim().parse().ok()
}
