//! The summary as others see it: poppler reads its text, fonts and pages, qpdf its structure.
//! Both are installed by `scripts/install-debian.sh`; without them these tests fail.

mod pages;
mod range;
mod records;
mod tools;

use case::Case;
use paper::{Error, Filing, Paper, Summary};
use plant::Plant;
use records::{hostile, proof, sample, signed, stamp, subject, without_exceptions};
use review::{Bundle, Decision, ExceptionItem, Reviewed, Settlement, Stage, State, Together};
use std::collections::BTreeSet;
use tests::good;
use tests::people::{self, Hand};
use tools::{Pdf, flat};
use trace::Instant;

/// 2026-03-05 06:12:00 in Chicago.
const CREATED: Instant = Instant::from_unix_milliseconds(1_772_712_720_000);

fn summary<'a>(day: &'a Case, reviewed: &'a Reviewed, paper: Paper) -> Summary<'a> {
    let filing = Filing { case: day, record: "2026-03-04 early", reviewed, others: None };
    Summary { filing, paper, created: CREATED, template: None }
}

fn pdf(summary: &Summary<'_>) -> Pdf {
    match paper::summary(summary) {
        Ok(bytes) => Pdf::new(bytes),
        Err(error) => panic!("{error}"),
    }
}

fn data(summary: &Summary<'_>) -> serde_json::Value {
    let json = good(paper::data(summary));
    good(serde_json::from_str(&json))
}

fn length(value: &serde_json::Value) -> usize {
    value.as_array().map_or(0, Vec::len)
}

#[test]
fn a_signed_day_reads_as_it_was_decided() {
    let day = sample("2026-03-04-stuck-valve.csv");
    let reviewed = signed(&day, Hand::Key);
    let pdf = pdf(&summary(&day, &reviewed, Paper::A4));
    pdf.check();
    let pages = pdf.pages();
    assert!(pages.len() >= 3, "{} pages", pages.len());
    for (index, page) in pages.iter().enumerate() {
        let page = flat(page);
        let number = format!("page {} of {}", index + 1, pages.len());
        for words in [number.as_str(), "Record 2026-03-04 early", "made 2026-03-05 06:12:00 -06:00"]
        {
            assert!(page.contains(words), "{words:?} is on page {}: {page}", index + 1);
        }
        for words in ["NOT SIGNED", "NOT REVIEWED", "CHANGED SINCE"] {
            assert!(!page.contains(words), "{words:?} is not on page {}", index + 1);
        }
    }
    let text = flat(&pages.join("\n"));
    let verdict = day.verdict();
    for words in [
        verdict.as_str(),
        "Example Dairy (invented)",
        "Q. Example (invented)",
        "approved",
        "2026-03-05 06:02:11 -06:00",
        "shift early",
        "(superseded)",
        "chain: every line follows the one above",
        "plant file plant.toml",
        &"ef".repeat(32),
        "America/Chicago",
        "early 04:00–12:00",
        "21 CFR 1240.61(b)",
        case::CAUTION,
        analysis::LETHALITY_CAUTION,
        "Stuck plunger",
        "Held, then dumped",
        "leak test of the device",
    ] {
        assert!(text.contains(&flat(words)), "{words:?} is on paper: {text}");
    }
    let plant = day.plant().file.as_ref().map(|file| trace::hexadecimal(&file.sha256));
    assert!(plant.is_some_and(|digest| text.contains(&digest)), "so is the plant file's");
    let digest = day.record().sources().first().map(trace::SourceFile::sha256_hex);
    assert!(digest.is_some_and(|digest| text.contains(&digest)), "the file's digest is on paper");
    for exception in &day.audit().exceptions {
        assert!(text.contains(&exception.id), "exception {} is on paper", exception.id);
        let sentences = day.explain(exception);
        assert!(text.contains(&flat(&sentences)), "{sentences}");
    }
}

#[test]
fn the_file_is_archival_tagged_and_embeds_its_fonts() {
    let day = sample("2026-03-13-booster-interlock.csv");
    let reviewed = signed(&day, Hand::Key);
    for (paper, size) in [(Paper::A4, "595.276 x 841.89"), (Paper::Letter, "612 x 792")] {
        let pdf = pdf(&summary(&day, &reviewed, paper));
        pdf.check();
        let about = pdf.info();
        for (key, words) in [
            ("Title", "Exception summary, HTST-1, Example Dairy (invented), 2026-03-13"),
            ("Tagged", "yes"),
            ("Page size", size),
            ("Creator", "Holdtrace"),
            ("Encrypted", "no"),
            ("JavaScript", "no"),
        ] {
            let line = about.lines().find(|line| line.starts_with(&format!("{key}:")));
            assert!(line.is_some_and(|line| line.contains(words)), "{key} {words}: {about}");
        }
        assert!(!about.lines().any(|line| line.starts_with("Author:")), "{about}");
        // ISO 19005-2, 6.6.4: the file says in its metadata what it conforms to.
        for words in ["<pdfaid:part>2</pdfaid:part>", "<pdfaid:conformance>A</pdfaid:conformance>"]
        {
            assert!(pdf.holds(words), "{words}");
        }
        assert!(pdf.holds("/Lang"), "the language is named");
        let fonts = pdf.fonts();
        assert!(fonts.len() >= 2, "{fonts:?}");
        for font in &fonts {
            let [.., embedded, subset, unicode, _, _] = font.as_slice() else { panic!("{font:?}") };
            assert_eq!(
                (embedded.as_str(), subset.as_str(), unicode.as_str()),
                ("yes", "yes", "yes")
            );
        }
        let structure = pdf.structure();
        for tag in ["H1", "H2", "Table", "TH", "TD", "Figure"] {
            assert!(structure.contains(tag), "{tag} is among the tags");
        }
    }
}

#[test]
fn what_is_not_signed_says_so_on_every_page() {
    let day = sample("2026-03-04-stuck-valve.csv");
    let fails = signed(&day, Hand::Wrong);
    let signed = signed(&day, Hand::Key);
    let nobody = Reviewed { state: Some(State::of(subject(&day))), ..signed.clone() };
    for (reviewed, words) in [
        (Reviewed::unread(), "NOT REVIEWED, NOT SIGNED"),
        (Reviewed { stage: Stage::BeingReviewed, ..signed.clone() }, "REVIEW NOT FINISHED"),
        (Reviewed { stage: Stage::Reviewed, ..signed.clone() }, "REVIEWED, NOT APPROVED"),
        (Reviewed { stage: Stage::ChangedSinceSigning, ..signed.clone() }, "CHANGED SINCE SIGNING"),
        (Reviewed { stage: Stage::MethodChanged, ..signed.clone() }, "AUDIT METHOD CHANGED"),
        (fails, "SIGNATURE NOT VERIFIED"),
        (nobody, "SIGNATURE NOT VERIFIED"),
    ] {
        let pages = pdf(&summary(&day, &reviewed, Paper::A4)).pages();
        for (index, page) in pages.iter().enumerate() {
            assert!(flat(page).contains(words), "{words:?} is on page {}: {page}", index + 1);
        }
    }
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let day = sample("2026-03-24-flow-surge.csv");
    let reviewed = signed(&day, Hand::Key);
    let one = summary(&day, &reviewed, Paper::A4);
    let later = Summary { created: Instant::from_unix_milliseconds(1_772_712_721_000), ..one };
    let bytes = |summary: &Summary<'_>| paper::summary(summary);
    assert!(bytes(&one).is_ok());
    assert!(bytes(&one) == bytes(&one), "twice the same");
    assert!(bytes(&one) != bytes(&later), "a second later");
}

#[test]
fn a_hostile_record_is_printed_letter_by_letter() {
    let day = hostile(300);
    assert_eq!(day.audit().exceptions.len(), 300);
    let mut subject = subject(&day);
    let Some(first) = subject.exceptions.first().cloned() else { panic!("it has exceptions") };
    subject.exceptions.push(ExceptionItem { id: "gone".to_owned(), ..first.clone() });
    let made = [first.id.as_str(), "gone"].map(|id| {
        let settlement = Settlement {
            exception: id.to_owned(),
            cause: "=1+1".to_owned(),
            action: "*bold*".to_owned(),
            disposition: "held".to_owned(),
            note: "#panic(\"no\") *x* $1$ <label> @ref // \u{202E}evil\n= heading".to_owned(),
            ..Settlement::default()
        };
        (Hand::Name("_anna_"), stamp(0), Decision::Settled(settlement))
    });
    let (stage, state) = (Stage::BeingReviewed, Some(people::reviewed(&subject, None, made)));
    let reviewed = Reviewed { stage, state, ..Reviewed::unread() };
    let summary = summary(&day, &reviewed, Paper::Letter);
    let pdf = pdf(&summary);
    pdf.check();
    let text = flat(&pdf.pages().join("\n"));
    for words in [
        "#import \"x\": *",
        "=1+1",
        "*bold* _it_ `raw` $x$ \\ ~",
        "@SUM(A1)",
        "[U+725B][U+4E73] 7",
        "[U+202E]evil",
        "#panic(\"no\") *x* $1$ <label> @ref // [U+202E]evil = heading",
        "40 exceptions during which the most product passed",
        "260 have none",
        "A decision about exception gone, which is not in this audit",
    ] {
        assert!(text.contains(words), "{words:?} is on paper");
    }
    // Hebrew and Arabic are there in their own letters, in whichever order a reader gives them.
    let letters: BTreeSet<char> = text.chars().collect();
    for letter in "חלב".chars() {
        assert!(letters.contains(&letter), "{letter:?}");
    }
    let data = data(&summary);
    let exceptions = data["exceptions"].as_array().cloned().unwrap_or_default();
    assert_eq!(exceptions.iter().filter(|one| !one["plot"].is_null()).count(), 40);
}

/// Each of its exceptions has an identifier and a quantity of its own, and all read the same.
#[test]
fn what_was_decided_once_for_a_cleaning_reads_as_one() {
    let day = proof("a_cleaning_is_one_bundle");
    let subject = subject(&day);
    let of = Bundle::Cleaning(1);
    let exceptions: Vec<_> =
        State::of(subject.clone()).bundle(of).iter().map(|item| item.id.clone()).collect();
    assert!(exceptions.len() > 1, "{exceptions:?}");
    let together = Together {
        of,
        exceptions: exceptions.clone(),
        cause: "cleaning".to_owned(),
        action: "none".to_owned(),
        disposition: "none_needed".to_owned(),
        disposition_reason: "no product".to_owned(),
        quantity: String::new(),
        lot: String::new(),
        correction: None,
        hold_tag: String::new(),
        tank: String::new(),
        note: String::new(),
    };
    let settlement = Settlement {
        exception: exceptions[0].clone(),
        cause: "valve stuck".to_owned(),
        action: "freed".to_owned(),
        disposition: "held".to_owned(),
        ..Settlement::default()
    };
    let made = [Decision::SettledTogether(together), Decision::Settled(settlement)]
        .map(|made| (Hand::Name("anna"), stamp(0), made));
    for (count, words) in [
        (1, "Resolved: cleaning; none"),
        (2, "Resolved, the first of them: valve stuck; freed; held"),
    ] {
        let state = Some(people::reviewed(&subject, None, made.iter().take(count).cloned()));
        let stage = Stage::BeingReviewed;
        let reviewed = Reviewed { stage, state, ..Reviewed::unread() };
        let data = data(&summary(&day, &reviewed, Paper::A4));
        let told = data["cleanings"][0]["resolution"].as_str().unwrap_or_default().to_owned();
        assert!(told.starts_with(words), "{told}");
    }
}

#[test]
fn a_record_without_exceptions_says_so() {
    let day = without_exceptions();
    let reviewed = Reviewed::unread();
    let pdf = pdf(&summary(&day, &reviewed, Paper::A4));
    pdf.check();
    let text = flat(&pdf.pages().join("\n"));
    assert!(text.contains("No exception in"), "{text}");
    assert!(text.contains("Exceptions None."), "{text}");
}

#[test]
fn a_thousand_observations_of_a_kind_are_one_line() {
    let kind = ingest::observations::KINDS.iter().find(|kind| kind.key() == "ragged_row");
    let Some(&kind) = kind else { panic!("a row with a cell too many is told") };
    let record = without_exceptions().record().clone();
    let ragged = trace::Observation::over(kind, record.interval(), 1);
    let day = Case::new(record, Plant::assumed(), vec![ragged; 1000], Vec::new());
    let reviewed = Reviewed::unread();
    let data = data(&summary(&day, &reviewed, Paper::A4));
    let kinds = data["observations"].as_array().cloned().unwrap_or_default();
    let ragged = kinds.iter().find(|one| one["kind"] == "ragged_row");
    let lines = ragged.map(|one| (one["count"].clone(), one["lines"].clone()));
    let Some((count, lines)) = lines else { panic!("{kinds:?}") };
    assert_eq!((count.as_u64(), length(&lines)), (Some(1000), 1));
    assert!(lines.to_string().contains("1000 observations between"), "{lines}");
}

#[test]
fn the_data_agree_with_the_audit() {
    for name in records::SAMPLES {
        let day = sample(name);
        let reviewed = Reviewed::unread();
        let data = data(&summary(&day, &reviewed, Paper::A4));
        let counted = day.audit().exceptions.iter().filter(|one| one.cleaning.is_none()).count();
        assert_eq!(length(&data["exceptions"]), counted, "{name}");
        assert_eq!(length(&data["cleanings"]), day.audit().cleanings.len(), "{name}");
        assert_eq!(length(&data["runs"]), day.audit().product_runs.len(), "{name}");
        assert_eq!(length(&data["completeness"]), day.audit().completeness.len(), "{name}");
        let shares = data["accounting"]["rows"].as_array().cloned().unwrap_or_default();
        let sum: f64 = shares.iter().filter_map(|row| row["share"].as_f64()).sum();
        assert!((sum - 1.0).abs() < 1e-9, "{name}: {sum}");
        let counted: u64 = data["observations"]
            .as_array()
            .into_iter()
            .flatten()
            .filter_map(|one| one["count"].as_u64())
            .sum();
        assert_eq!(counted, day.audit().observations.len() as u64, "{name}");
    }
}

#[test]
fn plots_keep_gaps_and_extremes() {
    let day = sample("2026-03-17-dropouts-and-gaps.csv");
    assert!(!day.audit().gaps.is_empty(), "the day has gaps");
    let reviewed = Reviewed::unread();
    let data = data(&summary(&day, &reviewed, Paper::A4));
    let plots = data["day"]["plots"].as_array().cloned().unwrap_or_default();
    let temperature = plots.iter().find(|plot| plot["title"] == "Holding temperature");
    let Some(temperature) = temperature else { panic!("{plots:?}") };
    let lines = temperature["path"].as_str().map_or(0, |path| path.matches('M').count());
    let invalid = (0..day.record().samples())
        .filter(|&sample| day.record().holding_temperature().value(sample).is_none())
        .count();
    assert!(invalid > 0 && lines > 1, "{invalid} invalid readings, {lines} lines");
    assert!(length(&data["day"]["valve"]) > 1);
    // An arrowhead where a trace leaves the scale, and only there.
    for plot in &plots {
        assert_eq!(plot["cut"] == true, length(&plot["heads"]) > 0, "{plot}");
    }
    assert!(plots.iter().any(|plot| length(&plot["heads"]) > 0));
    // The greatest of all readings is there: of a line that is drawn nothing is left out.
    let channel = day.record().holding_temperature();
    let values = || (0..channel.len()).filter_map(|sample| channel.value(sample));
    let (least, greatest) =
        values().fold((f64::MAX, f64::MIN), |(low, high), value| (low.min(value), high.max(value)));
    let words = format!("readings from {least} to {greatest} °F");
    assert!(temperature["alt"].as_str().is_some_and(|alt| alt.contains(&words)), "{words}");
}

#[test]
fn a_plant_can_have_its_own_template() {
    let day = without_exceptions();
    let reviewed = Reviewed::unread();
    let base = summary(&day, &reviewed, Paper::A4);
    let with = |text: &'static str| {
        let template = Some(paper::Template { name: "ours.typ", text });
        Summary { template, ..base }
    };
    let own = pdf(&with(
        "#let data = json(\"data.json\")\n#set document(title: \"Ours\")\n= Ours\n#data.verdict",
    ));
    own.check();
    assert!(flat(&own.pages().join("")).contains("No exception in"));

    let fault = |template| paper::summary(&with(template)).err().map(|error| error.to_string());
    for (template, place, words) in [
        ("= Ours\n\n  #data.verdict", "line 3, column 4", "unknown variable: data"),
        ("#let x = (\n", "line 1, column 10", "unclosed"),
        ("#image(\"logo.png\")", "line 1, column 8", "data.json"),
        ("#import \"@preview/cetz:0.3.1\"", "line 1, column 9", "data.json"),
    ] {
        let told = fault(template).unwrap_or_default();
        for words in ["the plant's own template", place, words, "correct the template"] {
            assert!(told.contains(words), "{words:?} is in {told:?}");
        }
    }
    // No embedded font has this letter, and PDF/A wants every letter.
    let unprintable = paper::summary(&with("#set document(title: \"x\")\n牛"));
    assert!(matches!(unprintable, Err(Error::Pdf { own: true, .. })), "{unprintable:?}");
}

/// The keys of a value and of all that it holds.
fn keys(value: &serde_json::Value, found: &mut BTreeSet<String>) {
    match value {
        serde_json::Value::Object(entries) => {
            for (key, value) in entries {
                found.insert(key.clone());
                keys(value, found);
            }
        }
        serde_json::Value::Array(values) => values.iter().for_each(|value| keys(value, found)),
        _ => {}
    }
}

#[test]
fn every_key_of_the_data_is_documented() {
    let formats = include_str!("../../../../docs/file-formats.md");
    let Some((_, section)) = formats.split_once("## The PDF summary") else {
        panic!("docs/file-formats.md has a section on the PDF summary")
    };
    let day = sample("2026-03-04-stuck-valve.csv");
    let reviewed = signed(&day, Hand::Key);
    let mut found = BTreeSet::new();
    keys(&data(&summary(&day, &reviewed, Paper::A4)), &mut found);
    let silent: Vec<_> =
        found.iter().filter(|key| !section.contains(&format!("`{key}`"))).collect();
    assert!(silent.is_empty(), "not documented: {silent:?}");
}
