//! What is wrong with a plant file, in the words of the person who wrote it: the reader of the file speaks of
//! fields and of types that no file has.

/// A message of the reader in plain words; one that speaks of no type as it is.
pub(super) fn words(message: &str) -> String {
    if let Some(key) = message.strip_prefix("missing field ") {
        return format!("needs {key}, which is not there");
    }
    if let Some(rest) = message.strip_prefix("unknown field ") {
        let (key, known) = rest.split_once(", ").unwrap_or((rest, ""));
        let known = known.trim_start_matches("expected ").trim_start_matches("one of ");
        return match known.replace('`', "") {
            known if known.is_empty() || known.starts_with("there are no") => {
                format!("{key} is not a key here")
            }
            known => format!("{key} is not a key here; the keys are {known}"),
        };
    }
    if let Some(rest) = message.strip_prefix("duplicate key") {
        return format!("the key{rest} is given twice").replace(" in document root", "");
    }
    for begins in ["invalid type: ", "invalid value: ", "invalid length "] {
        if let Some(rest) = message.strip_prefix(begins)
            && let Some((found, wanted)) = rest.split_once(", expected ")
        {
            return format!("is {}; write {}", in_words(found), wanted_in_words(wanted));
        }
    }
    message.to_owned()
}

/// What stands in the file.
fn in_words(found: &str) -> String {
    let quoted = |text: &str| text.trim().trim_matches('`').to_owned();
    for (kind, words) in [
        ("string ", "the text "),
        ("integer ", "the number "),
        ("floating point ", "the number "),
        ("boolean ", ""),
    ] {
        if let Some(value) = found.strip_prefix(kind) {
            return format!("{words}{}", quoted(value));
        }
    }
    match found {
        "map" => "a table".to_owned(),
        "sequence" => "a list".to_owned(),
        "datetime" | "newtype struct" => "a date without quotes".to_owned(),
        found => quoted(found),
    }
}

/// What belongs there.
fn wanted_in_words(wanted: &str) -> String {
    let is_number = |word: &str| {
        ["i", "u", "f"].iter().any(|kind| {
            let digits = word.strip_prefix(kind);
            digits.is_some_and(|digits| ["8", "16", "32", "64", "size"].contains(&digits))
        })
    };
    match wanted {
        wanted if wanted.contains("string") => "a text in quotes, such as \"2 psi\"".to_owned(),
        wanted if is_number(wanted) || wanted.contains("integer") || wanted.contains("number") => {
            "a whole number without quotes, such as 7".to_owned()
        }
        "a boolean" | "bool" => "true or false without quotes".to_owned(),
        wanted if wanted.contains("sequence") || wanted.contains("array") => {
            "a list, such as [\"F\", \"FWD\"]".to_owned()
        }
        wanted if wanted.contains("struct") || wanted.contains("map") => {
            "a table, such as { column = \"Flow\" }".to_owned()
        }
        wanted => wanted.replace('`', ""),
    }
}

#[cfg(test)]
mod tests {
    use super::words;

    #[test]
    fn types_are_told_as_a_file_has_them() {
        for (message, told) in [
            (
                "invalid type: string \"7\", expected u32",
                "is the text \"7\"; write a whole number without quotes, such as 7",
            ),
            (
                "invalid type: floating point `2.0`, expected a string",
                "is the number 2.0; write a text in quotes, such as \"2 psi\"",
            ),
            (
                "invalid type: boolean `true`, expected a sequence",
                "is true; write a list, such as [\"F\", \"FWD\"]",
            ),
            (
                "invalid type: integer `3`, expected struct RawTube",
                "is the number 3; write a table, such as { column = \"Flow\" }",
            ),
            (
                "unknown field `lenght`, expected `length`",
                "`lenght` is not a key here; the keys are length",
            ),
            ("missing field `plant`", "needs `plant`, which is not there"),
        ] {
            assert_eq!(words(message), told);
        }
    }
}
