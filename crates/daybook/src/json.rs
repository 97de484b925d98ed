//! What was decided and signed, as the summary of a range and the trace of a lot write it for a
//! program. The keys are described in `docs/file-formats.md`.

use crate::entry::Entry;
use review::{Mark, Settlement, Signed};
use serde_json::{Value, json};

/// What was decided about an exception, and by whom; null while nothing is.
pub(crate) fn resolution(resolution: Option<(&Settlement, &Mark)>) -> Value {
    let Some((settlement, mark)) = resolution else { return Value::Null };
    let mut value = json!(settlement);
    value["by"] = json!(mark.by);
    value["at"] = json!(mark.at.to_string());
    value
}

/// How the hole before a record was closed; null while it is open.
pub(crate) fn hole_closed(entry: &Entry) -> Value {
    entry.hole_closed().map_or(Value::Null, |made| {
        json!({
            "reason": made.value,
            "note": made.note,
            "by": made.mark.by,
            "at": made.mark.at.to_string(),
        })
    })
}

/// One signature.
pub(crate) fn signature(signed: &Signed) -> Value {
    json!({
        "name": signed.name,
        "role": signed.role.to_string(),
        "meaning": signed.meaning.to_string(),
        "scope": signed.scope.to_string(),
        "at": signed.mark.at.to_string(),
        "holds": signed.verdict.holds(),
        "stands": signed.stands(),
        "found": signed.found(),
    })
}
