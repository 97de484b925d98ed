//! How figures are written for a person, looked for in any text: what breaks a rule of docs/glossary.md.

/// Every figure of a text that a person would not have written so.
pub fn violations(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    for line in text.lines() {
        let words: Vec<&str> = line
            .split(|letter: char| {
                letter.is_whitespace() || "()[];\u{201c}\u{201d}\"".contains(letter)
            })
            .map(|word| word.trim_end_matches([',', ':', '.']))
            .filter(|word| !word.is_empty())
            .collect();
        for (place, word) in words.iter().enumerate() {
            let unit = words.get(place + 1).copied().unwrap_or_default();
            if let Some(why) = wrong(word, unit) {
                found.push(format!("{why}: {word} {unit} in: {line}"));
            }
        }
    }
    found
}

/// What is wrong with a word before another one.
fn wrong(word: &str, unit: &str) -> Option<&'static str> {
    let digits = word.trim_start_matches(['+', '\u{2212}', '-']);
    let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
    let is_figure = !whole.is_empty()
        && whole.bytes().all(|byte| byte.is_ascii_digit() || byte == b',')
        && fraction.bytes().all(|byte| byte.is_ascii_digit());
    if !is_figure {
        return None;
    }
    if word.starts_with('-') {
        return Some("a minus that is a hyphen");
    }
    let is_volume = matches!(unit, "gal" | "L");
    let is_counted = is_volume || matches!(unit, "samples" | "rows" | "bytes");
    if is_counted && whole.len() > 3 && !whole.contains(',') {
        return Some("thousands that are not told apart");
    }
    // What people wrote themselves, on a run sheet or in an entry, stands as they wrote it.
    let places = usize::from(whole.len() <= 2);
    if is_volume && fraction.len() > places {
        return Some("a volume that is rounded otherwise");
    }
    (unit == "s" && fraction.len() > 2).then_some("a time with thousandths")
}

#[cfg(test)]
mod tests {
    use super::violations;

    #[test]
    fn each_rule_can_be_broken() {
        for text in [
            "the margin is -0.9 \u{b0}F",
            "about 1455 gal",
            "12000 L passed, 1 s",
            "about 32.55 gal",
            "140.4 gal",
            "28800 samples",
            "fully diverted after 1.466 s",
        ] {
            assert_eq!(violations(text).len(), 1, "{text}");
        }
        for text in [
            "the margin is \u{2212}0.9 \u{b0}F, from \u{2212}1.25 to +2 psi",
            "about 1,455 gal, at most 32.6 gal (nominal flow)",
            "28,800 samples, one every 0.5 s",
            "2026-03-04 07:10:22.6, 0304-A, HTST-1, line 1455, FDA 2359b",
            "164.1 \u{b0}F",
        ] {
            assert!(violations(text).is_empty(), "{:?}", violations(text));
        }
    }
}
