//! What a line of the register says: the bodies of its journal, read and written by one type.

use crate::equipment::{SealBroken, Sealed, Tested};
use crate::person::{Role, SignerId};
use crate::public_key::PublicKey;
use chrono::NaiveDate;
use journal::Body;
use serde::{Deserialize, Serialize};
use serde_json::Value;

/// A signer as they are enrolled.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Enrolment {
    /// The identifier; never given to anybody else.
    pub signer: SignerId,
    /// The name as it is printed under a signature.
    pub name: String,
    /// What the signer is in the plant.
    pub role: Role,
    /// The key that the signer's signatures must fit.
    pub public_key: PublicKey,
}

/// What somebody is qualified for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Qualification {
    /// Whose it is.
    pub signer: SignerId,
    /// What it is, such as "preventive controls qualified individual".
    pub qualification: String,
    /// Since when.
    pub on: NaiveDate,
}

/// The rules that this program writes registers by. Under the first ones a single supervisor could
/// enrol another and change roles, also where there were two; a register of that time follows them
/// until its next line.
pub(crate) const RULES: u64 = 2;

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
pub(crate) enum Change {
    /// The register begins: the first supervisor enrols themselves.
    Begun {
        rules: u64,
        signer: SignerId,
        name: String,
        public_key: PublicKey,
    },
    /// A register that began under older rules follows these from here on.
    RulesChanged {
        rules: u64,
    },
    Enrolled(Enrolment),
    RoleChanged {
        signer: SignerId,
        role: Role,
    },
    Revoked {
        signer: SignerId,
        reason: String,
    },
    /// A plant file counts, by the digest of its bytes.
    PlantFileApproved {
        name: String,
        sha256: String,
    },
    /// It counts no longer.
    PlantFileWithdrawn {
        sha256: String,
        reason: String,
    },
    /// A test of the equipment was made.
    Tested(Tested),
    /// A seal was applied.
    Sealed(Sealed),
    /// A seal was broken.
    SealBroken(SealBroken),
    /// Somebody is qualified for what they do.
    Qualified(Qualification),
    /// Another supervisor agrees to the line of that number, which takes effect with this one.
    Seconded {
        line: u64,
    },
    /// The clock ran ahead before this line.
    ClockCorrected {
        reason: String,
    },
}

impl Change {
    pub(crate) fn from_body(body: &Body) -> Result<Self, String> {
        serde_json::from_value(Value::Object(body.clone()))
            .map_err(|cause| format!("its body is not one of a register: {cause}"))
    }

    #[expect(clippy::expect_used, reason = "names and texts have no cause to fail")]
    pub(crate) fn to_body(&self) -> Body {
        match serde_json::to_value(self).expect("a change can be written as JSON") {
            Value::Object(body) => body,
            _ => Body::new(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn read(value: Value) -> Result<Change, String> {
        let Value::Object(body) = value else { return Err("not an object".to_owned()) };
        let change = Change::from_body(&body)?;
        assert_eq!(change.to_body(), body, "what is read is written the same");
        Ok(change)
    }

    #[test]
    fn the_bodies_of_the_format_and_no_others() {
        let key = "-----BEGIN PUBLIC KEY-----\n\
            MCowBQYDK2VwAyEAGb9ECWmEzf6FQbrBZ9w7lshQhqowtrbLDFw4rXAxZuE=\n\
            -----END PUBLIC KEY-----\n";
        let enrolled = json!({
            "kind": "enrolled", "signer": "m.ortega", "name": "Mara Ortega",
            "role": "technician", "public_key": key,
        });
        let good = [
            enrolled.clone(),
            json!({"kind": "role_changed", "signer": "m.ortega", "role": "supervisor"}),
            json!({"kind": "revoked", "signer": "m.ortega", "reason": "left the plant"}),
            json!({"kind": "begun", "rules": 2, "signer": "m.ortega", "name": "Mara Ortega",
                   "public_key": key}),
            json!({"kind": "rules_changed", "rules": 2}),
            json!({"kind": "plant_file_approved", "name": "plant.toml", "sha256": "ab".repeat(32)}),
            json!({"kind": "plant_file_withdrawn", "sha256": "ab".repeat(32), "reason": "replaced"}),
            json!({"kind": "seconded", "line": 7}),
            json!({"kind": "tested", "unit": "HTST-1", "test": "holding_time", "on": "2026-01-14",
                   "passed": true, "figure": "16.2 s", "limit": "15 s", "tested_by": "C. Example"}),
            json!({"kind": "sealed", "unit": "HTST-1", "part": "timing pump", "seal": "11",
                   "at": "2026-01-14T09:00:00.000-06:00", "applied_by": "C. Example"}),
            json!({"kind": "seal_broken", "unit": "HTST-1", "seal": "11",
                   "at": "2026-03-14T09:00:00.000-05:00", "broken_by": "x", "reason": "belt"}),
            json!({"kind": "qualified", "signer": "m.ortega", "qualification": "q", "on": "2025-06-01"}),
            json!({"kind": "clock_corrected", "reason": "a year ahead"}),
        ];
        for body in good {
            assert!(read(body.clone()).is_ok(), "{body}");
            let mut more = body.clone();
            more["more"] = json!(1);
            assert!(read(more).is_err(), "{body} with a member more");
            for name in body.as_object().into_iter().flat_map(|body| body.keys()) {
                let mut less = body.clone();
                if let Some(less) = less.as_object_mut() {
                    less.remove(name);
                }
                assert!(read(less).is_err(), "{body} without {name}");
            }
        }
        for (name, value) in [
            ("role", json!("manager")),
            ("signer", json!("M. Ortega")),
            ("public_key", json!("ssh-ed25519 AAAA")),
            ("name", json!(7)),
        ] {
            let mut body = enrolled.clone();
            body[name] = value;
            assert!(read(body).is_err(), "{name}");
        }
        assert!(read(json!({"kind": "forgotten", "signer": "m.ortega"})).is_err());
    }
}
