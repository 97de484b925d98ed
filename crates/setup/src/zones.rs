//! The names of time zones, as a person types them.

/// The IANA zones whose names hold a text, such as `new_york` or `New York`; no more than a few, and
/// none for a text of fewer than two characters.
pub fn zones_like(text: &str) -> Vec<&'static str> {
    let wanted = text.trim().to_lowercase().replace(' ', "_");
    if wanted.len() < 2 {
        return Vec::new();
    }
    let names = chrono_tz::TZ_VARIANTS.iter().map(|zone| zone.name());
    names.filter(|name| name.to_lowercase().contains(&wanted)).take(6).collect()
}

/// Whether a text is the name of an IANA zone.
pub fn is_zone(text: &str) -> bool {
    text.parse::<chrono_tz::Tz>().is_ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zones_are_found_by_a_part_of_their_name() {
        assert_eq!(zones_like("new york"), ["America/New_York"]);
        assert_eq!(zones_like("Europe/Ber"), ["Europe/Berlin"]);
        assert!(zones_like("a").is_empty() && zones_like("nowhere").is_empty());
        assert!(is_zone("America/Chicago") && !is_zone("Chicago Time"));
    }
}
