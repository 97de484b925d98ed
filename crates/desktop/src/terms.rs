//! What each figure of the screen is: two sentences and a source, in one list.

/// What a figure is.
#[derive(Debug, PartialEq, Eq)]
pub struct Term {
    /// What the screen calls it.
    pub name: &'static str,
    /// What it is, in two sentences at most.
    pub text: &'static str,
    /// Where it comes from.
    pub source: &'static str,
}

macro_rules! terms {
    ($($name:literal: $text:literal, $source:literal;)+) => {
        /// All terms.
        pub const TERMS: &[Term] = &[$(Term { name: $name, text: $text, source: $source }),+];
    };
}

terms! {
    // Exceptions.
    "At least": "From the first to the last sample that shows it. It lasted at least that long.", "method, section 4";
    "Observed": "From the first to the last sample that shows it. It lasted at least that long.", "method, section 4";
    "Estimate": "From half way before the first such sample to half way after the last. It is the most likely duration, and what passed is counted over it.", "method, section 4";
    "At most": "From the last good sample before to the first good one after. By this record it can't have lasted longer.", "method, section 4";
    "Worst": "The reading furthest below its limit while it lasted, and that limit. What can't be verified has none.", "method, section 4";
    "Worst reading": "The reading furthest below its limit while it lasted. What can't be verified has none.", "method, section 4";
    "Shortfall": "How far it was short, added up over its time. It distinguishes a deep dip from a shallow one of the same duration.", "method, section 4";
    "Passed": "What was metered in forward flow over the estimate, or the nominal flow (nom) where it had no reading. It went into a tank: the whole of these lots and tanks is to be held.", "method, sections 4 and 10";
    "Passed, about": "What was metered in forward flow over the estimates, each moment counted once. It went into a tank: the whole lot is to be held.", "method, sections 4 and 10";
    "Rows without a usable time": "Rows of the file that belong to no moment, lying between the samples at both ends. Whether they were short is counted, though not when.", "method, section 3";
    "Response": "How long the device took from the shortfall until it was fully diverted. Up to 1 s is allowed.", "1 s: PMO App. I, test 5.6 (figure not verified)";
    "Response, about": "How long the device took from the shortfall until it was fully diverted, from half way between samples. Up to 1 s is allowed.", "1 s: PMO App. I, test 5.6 (figure not verified)";
    "Response after a shortfall": "How long the device took from the shortfall until it was fully diverted: about, at least and at most. Up to 1 s is allowed.", "1 s: PMO App. I, test 5.6 (figure not verified)";
    "ID": "The name of this exception in the review, made of what was observed. The same record has the same one on every machine.", "docs/review.md";
    "FDD": "The position of the flow diversion device during it. In travel product can go both ways, and unknown counts as forward.", "method, section 4";
    "Quantity": "How much passed while it lasted, as the audit found it. Whoever resolves it may correct that.", "method, section 4";
    "Outside production": "Exceptions in a cleaning or with water in the line. They are resolved like all others.", "method, section 4";
    "Shift": "The shift of the plant file in which it began. Shifts are signed by themselves or with the day.", "set by the plant";
    "Tank": "The tank of the run sheet that the product went into. All that was in it is mixed with what passed.", "run sheet; common practice";
    "Lot": "The lot by the logger, else by the run sheet. What passed went into it, so the whole lot is to be held.", "method, sections 6 and 10";
    "Product": "The product by the logger, else by the run sheet. Its limit follows from it; where both differ the stricter holds.", "method, section 6";
    // The measured span.
    "Passed forward": "What was metered in forward flow in the span. Diverted flow does not count.", "method, section 7";
    "Duration": "From the beginning to the end of the span.", "set by hand";
    "From, to": "The beginning and the end, in the time of the plant.", "set by hand";
    // The record.
    "Samples": "How many rows of the record have a place in time. Each is judged by itself.", "method, section 3";
    "Sampling interval": "The median step between two samples. Something shorter can pass between them unseen.", "method, section 3";
    "Gap limit": "A longer step between two samples is a gap. What happened in it is not known, and counts as not safe where the device was not diverted at both ends.", "method, section 3; at most 15 s: Holdtrace's own figure";
    "SHA-256": "The digest of the file, the same for the same bytes. Changing a byte changes the digest, which is how a change after signing is found.", "FIPS 180-4";
    "Pasteurizer": "The pasteurizer whose record it is, from the plant file.", "set by the plant";
    "Plant": "The plant, from the plant file.", "set by the plant";
    "File": "The file that it was read from. It is never changed.", "the logger";
    "Line": "The line of that file, counted from 1.", "the logger";
    "Where": "When it was observed, or in which line of the file. Selecting it shows it in the plots.", "method, section 8";
    "Samples or rows": "How many samples or rows it covers.", "method, section 8";
    "forward, within limits as recorded": "Time in forward flow at which every rule was met by the readings. It is what the record shows, no more.", "method, section 9";
    "forward, temperature too low": "Time in forward flow below the temperature of the product, with the other rules met.", "method, section 9";
    "forward, differential too low": "Time in forward flow with too low a differential, with the other rules met.", "method, section 9";
    "forward, residence time too short": "Time in forward flow with too short a residence time, with the other rules met.", "method, section 9";
    "forward, two or more limits missed": "Time in forward flow that was short of two or more rules at once.", "method, section 9";
    "not verifiable": "Time in forward flow that the record does not show to be safe. It counts as not safe.", "method, sections 5 and 9";
    "Diverted": "Time at which the device was diverted, or what was metered then. It was returned.", "method, sections 8 and 9";
    "FDD in travel": "Time at which the device was between its positions, or unknown where either position was safe.", "method, section 9";
    "gap while diverted": "Gaps of at most a minute with the device diverted at both ends.", "method, section 9; 60 s: Holdtrace's own figure";
    // Runs and lots.
    "Forward for": "Time in forward flow of this run.", "method, section 9";
    "T over limit": "The lowest holding temperature of forward flow less its limit. Below zero it was short.", "method, section 6";
    "\u{394}P over limit": "The lowest differential of forward flow less its limit. Below zero it was short.", "method, section 2";
    "Exceptions": "How many exceptions touch it. An exception is forward flow that a rule does not allow, or that can't be verified.", "method, section 4";
    "Run sheet": "What the run sheet says of it. It is the plant's own account.", "run sheet";
    "Lot to hold": "A lot that an exception touches. All of it is to be held, as what passed is mixed with it.", "method, section 10; common practice";
    "Metered forward": "What was metered in forward flow from the start to the end of the run. Where a reading is missing it is at least so much.", "method, sections 7 and 8";
    "Stated": "What the run sheet states.", "run sheet";
    "Compared": "How far the two amounts are apart, in percent of the stated one. Beyond the tolerance it is an observation to close.", "3 %: common practice; a plant may set another figure";
    "Lowest T": "The lowest holding temperature while both products may have been in the tube, and the higher limit of both.", "method, section 8";
    "Highest flow": "The highest flow while both products may have been in the tube, and the flow at which the tube holds for exactly the minimum.", "method, section 8";
    "In the tube": "What is in the holding tube, a mix of both products. It is an estimate from the volume of the tube.", "method, section 7";
    // Two days side by side.
    "Lowest temperature": "The lowest holding temperature of the product in forward flow on that day.", "method, section 6";
    "Diverts": "How often the device left forward flow while the product ran, outside cleaning.", "method, section 8";
    // Instruments.
    "Reading": "The holding temperature at the passage: the first in forward flow, or the last.", "recorded daily: ATCP 65.66(3)(f) (text read)";
    "Limit": "The limit of the product at that moment. Hold the pointer over the dashed line of the plot for its source.", "method, section 6";
    "Verdict": "Whether the reading was at or above the limit. Equal is allowed.", "method, section 6";
    "Passage": "The moment at which the device went forward, or left forward flow.", "method, section 8";
    // Diverts and cleanings.
    "Duration, about": "From half way before the first diverted sample to half way after the last.", "method, section 8";
    "Cause in the record": "What the record shows at that moment, looked for in a fixed order. A cause explains a divert and excuses nothing.", "method, section 8";
    "Return temperature": "The lowest and the highest temperature of the solution that came back with flow. Without a thermometer of its own, that at the device is used.", "method, section 8";
    "Hot for": "How long it was at or above the temperature that the plant sets, with flow. What can't be read does not count.", "set by the plant; method, section 8";
    "Followed by": "What came after the cleaning in the record: product, another cleaning, or nothing.", "method, section 8";
    "Not recorded": "What the record does not show about this cleaning. Nothing is assumed.", "method, section 8";
    "Before and after": "What came before and after this run of product: a cleaning, or the end of the record.", "method, section 8";
    // Process.
    "Shortest residence time": "The shortest time that product was in the holding tube in forward flow, for the fastest particle. It needs a flow meter and the tube in the plant file.", "method, section 7";
    "Holding tube, tested": "The result of the last holding time test, by the plant file. The time scales with the flow from there.", "every six months: ATCP 65.68(3)(b) (text read)";
    "Holding tube, dimensions": "Length, diameter and volume of the tube by the plant file. A test counts before it.", "set by the plant";
    "Lowest lethality": "Heat treatment at the worst moment, as a multiple of the legal minimum. It is for information and never excuses an exception.", "method, section 7";
    "Regeneration efficiency": "The share of the heat of the pasteurized milk that the regenerator gives to the raw milk. When it falls, plates may be fouled or the flow has changed.", "about 90 %: common practice; method, section 7";
    "Heating-water approach": "How much hotter the heating water is than the milk in the holding tube. When it rises, the heater may be fouled.", "common practice; method, section 7";
    "Differential margin": "The differential less its limit, in means of a minute. It shows how close the pressures came over the run.", "method, sections 2 and 7";
    // The day log.
    "Records": "How many records are in the range.", "day log";
    "Days": "On how many dates records begin, or for how many days a hold has been open.", "day log";
    "Forward flow": "Time in forward flow, and in which state. Only time within limits as recorded is shown to be safe.", "method, section 9";
    "To hold": "Lots and tanks of exceptions in production that are not resolved, or whose product is on hold.", "method, section 10";
    "Hold": "The tag on the product, by which it is found in the plant. It stays on hold until a supervisor ends that.", "docs/review.md";
    "Status": "Since when it is on hold and by whom, or how the hold ended.", "docs/review.md";
    "On hold": "Product that was put on hold and not yet released. Releasing it needs a supervisor, a reason and evidence.", "docs/review.md";
    "To close": "Observations that are to be closed one by one, each with a reason. Until then the record can't be signed.", "method, section 8";
    "Holes": "Time between two records in which product may have gone forward unrecorded. A hole is closed with a reason in the later record.", "method, Many records";
    "Time to review": "From the end of a record to its first review.", "21 CFR 117.165(a)(4)(i) (not verified)";
    "Time to approve": "From the end of a record to its approval.", "common practice";
    "Review": "How many records are at each stage of their review.", "docs/review.md";
    "Causes": "What people entered as causes, and how often.", "entered by people";
    "Dispositions": "What became of the product, and how often.", "entered by people";
    "Completeness": "Which of the entries that the plant's list asks for are missing.", "the plant's list; ATCP 65.66(3) (text read)";
    "Signatures": "How many signatures were given, and whether each still holds.", "docs/review.md";
    // The plots.
    "Holding tube": "The indicating thermometer at the end of the holding tube, with the recorder's. The dashed line is the limit of the product.", "method, section 6";
    "Differential": "Pasteurized minus raw pressure in the regenerator. While it is above its limit a leak leads from pasteurized to raw.", "method, section 2";
    "Regenerator": "The two pressures of which the differential is the difference.", "method, section 2";
    "Flow": "The flow meter before the heater. The higher the flow, the shorter the holding time.", "method, section 7";
    "Residence time": "How long product was in the holding tube, sample by sample. The dashed line is the minimum holding time of the product.", "method, section 7";
    "Process": "Raw milk, regenerated milk, heating water and cooled product. Their limits make observations, and no exceptions.", "method, section 8";
}

/// The term of that name; capitals do not matter.
pub fn term(name: &str) -> Option<&'static Term> {
    TERMS.iter().find(|term| term.name.eq_ignore_ascii_case(name))
}

#[cfg(test)]
mod tests {
    use super::*;
    use chart::PlotKind;

    #[test]
    fn each_term_stands_once_in_two_sentences_with_a_source() {
        for (place, term) in TERMS.iter().enumerate() {
            let Term { name, text, source } = term;
            let is_other = |other: &Term| !other.name.eq_ignore_ascii_case(name);
            assert!(TERMS[place + 1..].iter().all(is_other), "{name} twice");
            assert!(text.ends_with('.') && text.matches(". ").count() <= 1, "{name}: {text}");
            assert!(!source.is_empty() && !source.ends_with('.'), "{name}: {source}");
            assert!(!source.contains("ours"), "{name}: {source}");
        }
    }

    #[test]
    fn every_plot_and_every_state_of_the_record_is_explained() {
        for plot in PlotKind::ALL {
            assert!(term(plot.title()).is_some(), "{plot:?}");
        }
        for class in analysis::Class::ALL {
            assert!(term(class.name()).is_some(), "{class:?}");
        }
    }

    /// What people enter, and what names a person, a file or a moment says itself what it is.
    const SAY_THEMSELVES: &[&str] = &[
        "",
        "Acknowledged",
        "At",
        "Created by",
        "By",
        "Changed at",
        "Cleaned at",
        "Closed",
        "Comment",
        "Date and time",
        "Disposition",
        "Diverted at",
        "Entries",
        "Entry",
        "Evidence",
        "Fingerprint",
        "For",
        "From",
        "Hold ended",
        "In the record",
        "Journal",
        "Ledger",
        "Meaning",
        "Not ended",
        "Note",
        "Noted",
        "Observations",
        "Over",
        "Plant, pasteurizer",
        "Product from",
        "Reason",
        "Record",
        "Register",
        "Resolved",
        "Rule",
        "Rules",
        "Returned",
        "Scope",
        "Signed by",
        "Signature",
        "Since",
        "Source",
        "Start",
        "Then",
        "Time",
        "To",
        "What",
        "What it means",
    ];

    /// The names that a source gives to figures and to columns.
    fn named(text: &str) -> Vec<String> {
        let plain = text.split_whitespace().collect::<Vec<_>>().join(" ");
        let mut names = Vec::new();
        for call in ["figure(ui, look, \"", "figure( ui, look, \"", " word(\""] {
            let parts = plain.split(call).skip(1);
            names.extend(parts.filter_map(|part| Some(part.split_once('"')?.0.to_owned())));
        }
        names
    }

    /// A new figure is explained, or it is one of those that say themselves what they are.
    #[test]
    fn every_figure_of_the_screen_is_explained() {
        let mut folders = vec![std::path::PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("src")];
        let mut count = 0;
        while let Some(folder) = folders.pop() {
            for entry in std::fs::read_dir(&folder).into_iter().flatten().flatten() {
                let path = entry.path();
                if path.is_dir() {
                    folders.push(path);
                    continue;
                }
                for name in named(&std::fs::read_to_string(&path).unwrap_or_default()) {
                    let name = name.replace("\\u{394}", "\u{394}");
                    count += 1;
                    let is_told = term(&name).is_some() || SAY_THEMSELVES.contains(&name.as_str());
                    assert!(is_told, "{}: {name:?} is not explained", path.display());
                }
            }
        }
        assert!(count > 60, "the names are found: {count}");
    }
}
