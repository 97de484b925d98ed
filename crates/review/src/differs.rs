//! What differs between the result that was reviewed and the one of the files as they are now: digests say
//! only that something does.

use crate::subject::{ExceptionItem, Subject};
use analysis::Rule;

/// How many exceptions are named that came or went (ours).
const NAMED: usize = 3;

/// What differs between two results, as far as it shows in their lists, before the digests of them.
pub(crate) fn results_differ(reviewed: &Subject, fresh: &Subject) -> String {
    let is_same = |one: &ExceptionItem, other: &ExceptionItem| {
        (&one.rule, &one.start, &one.end) == (&other.rule, &other.start, &other.end)
    };
    let apart = |these: &[ExceptionItem], others: &[ExceptionItem], is_new: bool| {
        let is_in = |one: &&ExceptionItem| others.iter().any(|other| is_same(one, other));
        let apart: Vec<String> = these.iter().filter(|one| !is_in(one)).map(in_words).collect();
        let (named, more) = apart.split_at(apart.len().min(NAMED));
        let more = if more.is_empty() { String::new() } else { format!(", {} more", more.len()) };
        let one = if apart.len() == 1 { "exception" } else { "exceptions" };
        let named = named.join(", ");
        match (apart.is_empty(), is_new) {
            (true, _) => String::new(),
            (false, true) => format!("new {one}: {named}{more}; "),
            (false, false) => format!("{one} no longer there: {named}{more}; "),
        }
    };
    let new = apart(&fresh.exceptions, &reviewed.exceptions, true);
    let gone = apart(&reviewed.exceptions, &fresh.exceptions, false);
    let same = if new.is_empty() && gone.is_empty() { "the exceptions are the same; " } else { "" };
    format!("{new}{gone}{same}")
}

/// Rule and estimate of an exception: `low temperature from 2026-03-14 06:23:18 to 06:23:21`.
fn in_words(one: &ExceptionItem) -> String {
    let rule = Rule::ALL.iter().find(|rule| rule.key() == one.rule);
    let name = rule.map_or(one.rule.as_str(), |rule| rule.name());
    // RFC 3339, on the plant's clock.
    let start = one.start.get(..19).unwrap_or(&one.start).replace('T', " ");
    let end = one.end.get(11..19).unwrap_or(&one.end);
    format!("{name} from {start} to {end}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::state_tests::subject;

    #[test]
    fn what_came_and_went_is_named() {
        let like = subject(1, "");
        let one = |start: &str| ExceptionItem {
            start: format!("2026-03-14T06:23:{start}.000-05:00"),
            end: "2026-03-14T06:24:00.000-05:00".to_owned(),
            ..like.exceptions.first().cloned().unwrap_or_else(|| panic!("one"))
        };
        let of = |starts: &[&str]| Subject {
            exceptions: starts.iter().map(|start| one(start)).collect(),
            ..subject(0, "")
        };
        let name =
            Rule::ALL.iter().find(|rule| rule.key() == "temperature").map(|rule| rule.name());
        let name = name.unwrap_or_default();
        assert_eq!(
            results_differ(&of(&["18", "30"]), &of(&["18"])),
            format!("exception no longer there: {name} from 2026-03-14 06:23:30 to 06:24:00; ")
        );
        let many = results_differ(&of(&[]), &of(&["10", "20", "30", "40", "50"]));
        assert!(many.starts_with("new exceptions: ") && many.ends_with(", 2 more; "), "{many}");
        assert_eq!(results_differ(&of(&["18"]), &of(&["18"])), "the exceptions are the same; ");
    }
}
