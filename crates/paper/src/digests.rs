//! The digests on paper beside those of the files: what each is of, and its hexadecimal digits.

use review::{Imprint, Known, Reviewed};

/// By what the plant's books are told from others: how far register and ledger went when the page was
/// made, and the keys' fingerprints, the first supervisor's first.
pub(crate) fn of_books(books: &Imprint) -> Vec<[String; 2]> {
    let Imprint { register, register_lines, register_head, ledger_lines, ledger_head, signers } =
        books;
    let of = format!("last of the {register_lines} lines of the register of signers {register}");
    let mut digests = vec![[of, register_head.clone()]];
    if *ledger_lines > 0 {
        let of = format!("last of the {ledger_lines} lines of the ledger");
        digests.push([of, ledger_head.clone()]);
    }
    for (place, known) in signers.iter().enumerate() {
        let Known { signer, name, role, fingerprint, is_revoked, .. } = known;
        let first = if place == 0 { ", created the register" } else { "" };
        let revoked = if *is_revoked { ", revoked" } else { "" };
        let of = format!("fingerprint of {signer} ({name}, {role}{first}{revoked})");
        digests.push([of, fingerprint.replace(' ', "")]);
    }
    digests
}

/// Those of a review: audit, head of the journal, and its books.
pub(crate) fn of_review(reviewed: &Reviewed) -> Vec<[String; 2]> {
    let mut digests = Vec::new();
    if let (Some(state), Some(head)) = (&reviewed.state, reviewed.head()) {
        let lines = reviewed.verification.lines;
        digests.push(["result of the audit".to_owned(), state.subject().audit.clone()]);
        digests.push([format!("last of the journal's {lines} lines"), head.to_string()]);
    }
    digests.extend(reviewed.books.iter().flat_map(of_books));
    digests
}
