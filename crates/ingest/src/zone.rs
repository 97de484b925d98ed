//! That the zone of a file's stamps was assumed: neither they nor a plant file say it.

use plant::Zone;

const ASSUMED: &str = "Time stamps without an offset were read in the zone ";

/// The sentence.
pub(crate) fn assumed(zone: Zone) -> String {
    format!("{ASSUMED}{}, as there is no plant file.", zone.name())
}

/// Whether it stands among what was assumed of a record.
pub fn is_zone_assumed(assumptions: &[String]) -> bool {
    // Of some of the files only, with their names before it.
    assumptions.iter().any(|sentence| sentence.contains(ASSUMED))
}
