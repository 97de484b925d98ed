//! Compares the product's audit with the interpreter's, field by field; the first difference is
//! told in words.

use crate::exact::Exact;
use crate::interpreter::{
    Cleaned, Divert, EXACT, Finding, Held, Interpretation, Look, Margin, Produced, RANKS,
    Residence, Run, Span, Told, differential_reading, temperature_reading,
};
use analysis::{Audit, Check, Class, Exception, PassageReason, Rule, Side};
use std::collections::BTreeSet;
use std::fmt::Debug;
use trace::{Decimal, Interval, Observation, RunRecord};

/// Kinds of the product's own, which the method does not name: the interpreter has no opinion.
pub const OWN: [&str; 6] = [
    "differential_low_at_all_times",
    "holding_time_not_judged",
    "indicating_not_recorded",
    "run_sheet_overlap",
    "run_sheet_uncovered",
    "tube_contradiction",
];

/// Nothing, or the first difference.
pub type Agreement = Result<(), String>;

fn same<T: PartialEq + Debug>(what: &str, product: &T, interpreter: &T) -> Agreement {
    if product == interpreter {
        Ok(())
    } else {
        Err(format!("{what}: the product says {product:?}, the interpreter {interpreter:?}"))
    }
}

/// Equal to a part in 10^9, of figures that were added up from parts of at most `magnitude`.
fn close(what: &str, product: f64, interpreter: f64, magnitude: f64) -> Agreement {
    let size = product.abs().max(interpreter.abs()).max(magnitude);
    if (product - interpreter).abs() <= 1e-9 * size {
        Ok(())
    } else {
        Err(format!("{what}: the product says {product:?}, the interpreter {interpreter:?}"))
    }
}

fn span(interval: Interval) -> Span {
    (interval.start().unix_milliseconds(), interval.end().unix_milliseconds())
}

/// Whether the two audits of `record` agree.
///
/// # Errors
/// The first difference.
pub fn compare(record: &RunRecord, audit: &Audit, interpretation: &Interpretation) -> Agreement {
    same("gap limit", &audit.gap_limit.milliseconds(), &interpretation.gap_limit)?;
    same("gaps", &audit.gaps, &interpretation.gaps)?;
    holes(record, audit, interpretation)?;
    limits(audit, interpretation)?;
    residence(audit, interpretation)?;
    exceptions(audit, interpretation)?;
    episodes(audit, interpretation)?;
    cleanings(audit, interpretation)?;
    entries(audit, interpretation)?;
    cleaned(audit, interpretation)?;
    amounts(audit, interpretation)?;
    changed(audit, interpretation)?;
    hold(audit, interpretation)?;
    accounting(audit, interpretation)?;
    passed(audit, interpretation)?;
    passages(record, audit, interpretation)?;
    margins(record, audit, interpretation)?;
    observations(record, audit, interpretation)
}

fn holes(record: &RunRecord, audit: &Audit, interpretation: &Interpretation) -> Agreement {
    let product: Vec<_> = audit
        .holes
        .iter()
        .map(|hole| (hole.samples, hole.exposed, unplaced(hole.unplaced)))
        .collect();
    let interpreter: Vec<_> = interpretation
        .holes
        .iter()
        .map(|hole| (hole.samples, hole.exposed, hole.unplaced))
        .collect();
    same("holes", &product, &interpreter)?;
    for hole in &audit.holes {
        let ends = (record.instants()[hole.samples.0], record.instants()[hole.samples.1]);
        same("a hole's interval", &hole.interval, &Interval::between(ends.0, ends.1))?;
    }
    Ok(())
}

fn unplaced(count: analysis::UnplacedCount) -> Option<(usize, usize)> {
    (count.rows > 0).then_some((count.rows as usize, count.short as usize))
}

fn limits(audit: &Audit, interpretation: &Interpretation) -> Agreement {
    close(
        "differential limit",
        audit.differential_limit,
        interpretation.differential_limit.to_f64(),
        0.0,
    )?;
    let mut next = 0;
    for limit_span in &audit.temperature_limits {
        same("first sample of a limit", &limit_span.first, &next)?;
        for sample in limit_span.first..=limit_span.last {
            let Some(limit) = interpretation.limits.get(sample) else {
                return Err(format!("a limit for sample {sample}, which is not there"));
            };
            let what = format!("limit of sample {sample}");
            close(&what, limit_span.limit, limit.figure.to_f64(), 0.0)?;
            if let Some(product) = &limit.product {
                same(&what, &limit_span.product.trim(), &product.as_str())?;
            }
            same(&what, &limit_span.unknown_product, &limit.unknown)?;
            same(&what, &limit_span.sheet_disagrees, &limit.sheet_disagrees)?;
            same(&what, &limit_span.minimum_time.milliseconds(), &limit.minimum_time)?;
            same(&what, &Exact::decimal(limit_span.factor), &limit.factor)?;
        }
        next = limit_span.last + 1;
    }
    same("samples with a limit", &next, &interpretation.limits.len())
}

fn exceptions(audit: &Audit, interpretation: &Interpretation) -> Agreement {
    let mut exceptions: Vec<&Exception> = audit.exceptions.iter().collect();
    let in_order =
        exceptions.is_sorted_by_key(|exception| (exception.estimate.start(), exception.rule));
    same("exceptions are in order", &in_order, &true)?;
    // The order of exceptions of one rule with one start is not part of the contract.
    exceptions.sort_by_key(|one| (one.estimate.start(), one.rule, one.samples, one.causes.clone()));
    let list = |rules: Vec<String>| rules.join("; ");
    same(
        "exceptions",
        &list(
            exceptions
                .iter()
                .map(|one| format!("{:?} {:?} {:?}", one.rule, one.causes, one.samples))
                .collect(),
        ),
        &list(
            interpretation
                .findings
                .iter()
                .map(|one| format!("{:?} {:?} {:?}", one.rule, one.causes, one.samples))
                .collect(),
        ),
    )?;
    for (product, interpreter) in exceptions.iter().zip(&interpretation.findings) {
        exception(product, interpreter).map_err(|difference| {
            format!("{:?} {:?}: {difference}", interpreter.rule, interpreter.samples)
        })?;
    }
    let mut ids: Vec<&str> = audit.exceptions.iter().map(|one| one.id.as_str()).collect();
    ids.sort_unstable();
    ids.dedup();
    same("distinct ids", &ids.len(), &audit.exceptions.len())
}

fn exception(product: &Exception, interpreter: &Finding) -> Agreement {
    same("observed", &span(product.observed), &interpreter.observed)?;
    same("outer", &span(product.outer), &interpreter.outer)?;
    same("estimate", &span(product.estimate), &interpreter.estimate)?;
    same("has a worst reading", &product.worst.is_some(), &interpreter.worst.is_some())?;
    if let (Some(worst), Some(expected)) = (product.worst, &interpreter.worst)
        && product.rule == Rule::HOLDING_TIME
    {
        // Rounded times may tie; then either sample is the worst.
        let below = worst.limit - worst.value.to_f64();
        let most = (expected.limit - expected.value).to_f64();
        same("worst is the worst", &((below - most).abs() < 0.0011), &true)?;
    } else if let (Some(worst), Some(expected)) = (product.worst, &interpreter.worst) {
        same("worst", &Exact::decimal(worst.value), &expected.value)?;
        same("worst at", &worst.at.unix_milliseconds(), &expected.at)?;
        close("worst's limit", worst.limit, expected.limit.to_f64(), 0.0)?;
    }
    same("has a shortfall", &product.shortfall.is_some(), &interpreter.shortfall.is_some())?;
    if let (Some(shortfall), Some(expected)) = (product.shortfall, interpreter.shortfall) {
        close("shortfall", shortfall.value, expected, 0.0)?;
    }
    if let Some(basis) = interpreter.basis {
        same("basis", &product.volume.basis, &basis)?;
    }
    for (what, part, volume, expected) in [
        ("volume", interpreter.estimate, product.volume.value, interpreter.volume),
        ("outer volume", interpreter.outer, product.volume.outer_value, interpreter.outer_volume),
    ] {
        // In no time nothing passes; whether that is 0 or unknown is not part of the contract.
        if part.0 == part.1 {
            close(what, volume.unwrap_or(0.0), 0.0, 0.0)?;
            continue;
        }
        same(&format!("{what} is known"), &volume.is_some(), &expected.is_some())?;
        if let (Some(volume), Some(expected)) = (volume, expected) {
            close(what, volume, expected, 1e-6)?;
        }
    }
    same("products", &set(&product.products), &interpreter.products)?;
    same("lots", &set(&product.lots), &interpreter.lots)?;
    same("tanks", &set(&product.tanks), &interpreter.tanks)?;
    same("positions", &product.positions, &interpreter.positions)?;
    same("unplaced rows", &unplaced(product.unplaced), &interpreter.unplaced)?;
    same("outside production", &product.outside_production, &interpreter.outside_production)?;
    same("cleaning", &product.cleaning, &interpreter.cleaning)?;
    same("mode", &product.mode, &interpreter.mode)?;
    same("within response", &product.within_response, &interpreter.within_response)?;
    same("episode", &product.episode, &interpreter.episode)
}

fn episodes(audit: &Audit, interpretation: &Interpretation) -> Agreement {
    let last = interpretation.findings.iter().map(|finding| finding.episode).max().unwrap_or(0);
    same("episodes", &audit.episodes.len(), &last)?;
    for (index, episode) in audit.episodes.iter().enumerate() {
        same("number of an episode", &episode.number, &(index + 1))?;
        let own = interpretation.findings.iter().filter(|one| one.episode == episode.number);
        let start = own.clone().map(|one| one.estimate.0).min().unwrap_or(i64::MAX);
        let end = own.map(|one| one.estimate.1).max().unwrap_or(i64::MIN);
        same("interval of an episode", &span(episode.interval), &(start, end))?;
        let members: Vec<usize> = (0..audit.exceptions.len())
            .filter(|&index| audit.exceptions[index].episode == episode.number)
            .collect();
        same("exceptions of an episode", &episode.exceptions, &members)?;
    }
    Ok(())
}

fn cleanings(audit: &Audit, interpretation: &Interpretation) -> Agreement {
    same("cleanings", &audit.cleanings.len(), &interpretation.bundles.len())?;
    for (cleaning, bundle) in audit.cleanings.iter().zip(&interpretation.bundles) {
        same("number of a cleaning", &cleaning.number, &bundle.number)?;
        same("interval of a cleaning", &span(cleaning.interval), &bundle.interval)?;
        same("exceptions of a cleaning", &cleaning.exceptions.len(), &bundle.findings.len())?;
        for &index in &cleaning.exceptions {
            let own = audit.exceptions.get(index).and_then(|exception| exception.cleaning);
            same("an exception of a cleaning", &own, &Some(cleaning.number))?;
        }
    }
    Ok(())
}

/// The cleanings, with exceptions or without, and the productions between them.
/// What became of each of the operators' entries.
fn entries(audit: &Audit, interpretation: &Interpretation) -> Agreement {
    let held = audit.entries.iter().map(|one| match one.check {
        Check::Agrees(_) => Held::Agrees,
        Check::Disagrees(_) => Held::Disagrees,
        Check::NotComparable(_) => Held::NotComparable,
        Check::Words => Held::Words,
    });
    same("operators' entries", &held.collect::<Vec<_>>(), &interpretation.entries)
}

fn cleaned(audit: &Audit, interpretation: &Interpretation) -> Agreement {
    let exact = |one: Decimal| Exact::decimal(one);
    same("cleanings of the day", &audit.cleaning_cycles.len(), &interpretation.cleaned.len())?;
    for (cycle, expected) in audit.cleaning_cycles.iter().zip(&interpretation.cleaned) {
        let at = cycle.followed_by.at().map(trace::Instant::unix_milliseconds);
        let product = Cleaned {
            span: span(cycle.interval),
            borders: (cycle.begin.key(), cycle.end.key()),
            temperatures: cycle.temperatures.map(|(one, other)| (exact(one), exact(other))),
            hot: cycle.hot.map(trace::Duration::milliseconds),
            is_one: cycle.is_shown(),
            counts: cycle.counts,
            followed: (cycle.followed_by.key(), at),
        };
        same("a cleaning of the day", &product, expected)?;
    }
    let product: Vec<Produced> = audit
        .between_cleanings
        .iter()
        .map(|one| Produced {
            span: span(one.interval),
            count: one.samples,
            between: (one.after_cleaning, one.before_cleaning),
        })
        .collect();
    same("productions between cleanings", &product, &interpretation.produced)
}

/// What was metered in each run of the sheet.
fn amounts(audit: &Audit, interpretation: &Interpretation) -> Agreement {
    same("runs of the sheet", &audit.amounts.runs.len(), &interpretation.amounts.len())?;
    for (run, expected) in audit.amounts.runs.iter().zip(&interpretation.amounts) {
        let what = format!("amount of the run of line {}", run.line);
        same(
            &format!("{what} is known, {:?}", run.metered),
            &run.metered.is_ok(),
            &expected.is_some(),
        )?;
        if let (Ok(metered), Some(expected)) = (run.metered, expected) {
            close(&what, metered, *expected, 1e-6)?;
        }
    }
    Ok(())
}

/// The changes of the product.
fn changed(audit: &Audit, interpretation: &Interpretation) -> Agreement {
    same("product changes", &audit.product_changes.len(), &interpretation.changed.len())?;
    for (change, expected) in audit.product_changes.iter().zip(&interpretation.changed) {
        same("a product change", &span(change.interval), &expected.span)?;
        same("a product change is forward", &change.is_forward, &expected.is_forward)?;
        let reading = |at: analysis::AtChange| Exact::decimal(at.reading);
        let temperature = expected.temperature.map(|(least, _)| least);
        same("temperature at a change", &change.temperature.map(reading), &temperature)?;
        same("flow at a change", &change.flow.map(reading), &expected.flow)?;
        if let (Some(at), Some((_, limit))) = (change.temperature, expected.temperature) {
            close("limit at a change", at.limit, limit.to_f64(), 0.0)?;
        }
    }
    Ok(())
}

fn set(words: &[String]) -> BTreeSet<String> {
    words.iter().cloned().collect()
}

fn hold(audit: &Audit, interpretation: &Interpretation) -> Agreement {
    same("lots to hold", &set(&audit.hold.lots), &interpretation.hold_lots)?;
    same("each lot once", &audit.hold.lots.len(), &interpretation.hold_lots.len())?;
    same("tanks to hold", &set(&audit.hold.tanks), &interpretation.hold_tanks)?;
    same("each tank once", &audit.hold.tanks.len(), &interpretation.hold_tanks.len())
}

fn residence(audit: &Audit, interpretation: &Interpretation) -> Agreement {
    for (sample, expected) in interpretation.residence.iter().enumerate() {
        let product = audit.residence.as_ref().and_then(|residence| residence.at(sample));
        let what = format!("residence at sample {sample}");
        let minimum = interpretation.limits[sample].minimum_time;
        match (product.map(trace::Duration::milliseconds), *expected) {
            (Some(product), Residence::Known(whole, short)) => {
                // The exact time lies between the whole milliseconds and one more.
                if !(whole..=whole + 1).contains(&product) {
                    same(&what, &product, &whole)?;
                }
                // Rounded or not, what is shown must not contradict the verdict.
                same(&format!("{what} is short of {minimum}"), &(product < minimum), &short)?;
            }
            // What is known to be too short may be told or not, but not as long enough.
            (Some(product), Residence::ShortAnyhow) if product < minimum => {}
            (None, Residence::ShortAnyhow | Residence::Unknown) => {}
            (product, expected) => same(&what, &format!("{product:?}"), &format!("{expected:?}"))?,
        }
    }
    Ok(())
}

fn accounting(audit: &Audit, interpretation: &Interpretation) -> Agreement {
    let timeline: Vec<(Span, Class)> = audit
        .accounting
        .timeline()
        .iter()
        .map(|stretch| (span(stretch.interval), stretch.class))
        .collect();
    same("timeline", &timeline, &interpretation.timeline)?;
    for class in Class::ALL {
        same(
            class.key(),
            &audit.accounting.time(class).milliseconds(),
            &interpretation.by_class.get(&class).copied().unwrap_or(0),
        )?;
    }
    same(
        "total",
        &audit.accounting.total().milliseconds(),
        &interpretation.by_class.values().sum::<i64>(),
    )
}

fn passed(audit: &Audit, interpretation: &Interpretation) -> Agreement {
    let momentary = |of: fn(&Finding) -> Span| {
        interpretation.findings.iter().map(of).any(|span| span.0 == span.1)
    };
    let estimates = momentary(|finding| finding.estimate);
    let outers = momentary(|finding| finding.outer);
    for (what, momentary, volume, expected) in [
        ("volume that passed", estimates, audit.passed.value, interpretation.passed.0),
        ("outer volume that passed", outers, audit.passed.outer_value, interpretation.passed.1),
    ] {
        // As above: what passes in no time may be called unknown, and then so is the sum.
        if volume.is_none() && momentary {
            continue;
        }
        same(&format!("{what} is known"), &volume.is_some(), &expected.is_some())?;
        if let (Some(volume), Some(expected)) = (volume, expected) {
            close(what, volume, expected, 1e-6)?;
        }
    }
    Ok(())
}

fn passages(record: &RunRecord, audit: &Audit, interpretation: &Interpretation) -> Agreement {
    same("transitions", &audit.transitions.len(), &interpretation.passages.len())?;
    for (transition, passage) in audit.transitions.iter().zip(&interpretation.passages) {
        let (before, after) = passage.samples;
        same("transition", &transition.samples, &passage.samples)?;
        same("transition to", &transition.to, &passage.to)?;
        same("transition at", &transition.at, &record.instants()[after])?;
        same(
            "temperatures at a transition",
            &(transition.temperature_before, transition.temperature_after),
            &(temperature_reading(record, before), temperature_reading(record, after)),
        )?;
        let exact = |decimal: Option<Decimal>| decimal.map(Exact::decimal);
        same(
            "differentials at a transition",
            &(exact(transition.differential_before), exact(transition.differential_after)),
            &(differential_reading(record, before), differential_reading(record, after)),
        )?;
    }
    for ((transition, passage), reasons) in
        audit.transitions.iter().zip(&interpretation.passages).zip(&interpretation.reasons)
    {
        let what = format!("reason of the passage {:?}", passage.samples);
        let agrees = match (transition.reason, passage.to) {
            (reason, Side::Forward) => reason.is_none(),
            (None, Side::Divert) => false,
            (Some(PassageReason::NotInRecord), Side::Divert) => !reasons.shown,
            (Some(reason), Side::Divert) => reasons.may.contains(&reason),
        };
        if !agrees {
            return Err(format!("{what}: the product says {:?}, {reasons:?}", transition.reason));
        }
    }
    diverts(audit, interpretation)?;
    responses(audit, interpretation)
}

fn diverts(audit: &Audit, interpretation: &Interpretation) -> Agreement {
    same("diverts", &audit.diverts.len(), &interpretation.diverts.len())?;
    for (divert, expected) in audit.diverts.iter().zip(&interpretation.diverts) {
        let product = Divert {
            observed: span(divert.observed),
            outer: span(divert.outer),
            estimate: span(divert.estimate),
            is_over: divert.is_over,
            reason: divert.reason,
            is_metered: divert.returned.is_some(),
        };
        same("divert", &product, expected)?;
    }
    Ok(())
}

/// A cut-out that a shortfall came before says how long the device took.
fn responses(audit: &Audit, interpretation: &Interpretation) -> Agreement {
    for (cut, passage) in audit.instruments.cuts.iter().zip(&interpretation.passages) {
        let before_it: Vec<(i64, i64, i64)> = interpretation
            .findings
            .iter()
            .filter(|finding| {
                passage.to == Side::Divert && finding.samples.1 + 1 == passage.samples.1
            })
            .filter_map(|finding| finding.response)
            .collect();
        let what = format!("response at the passage {:?}", passage.samples);
        let milliseconds = |response: analysis::Response| {
            [response.least, response.about, response.most].map(trace::Duration::milliseconds)
        };
        match cut.response.map(milliseconds) {
            Some([least, about, most]) => {
                let found = before_it.contains(&(least, about, most));
                same(&format!("{what} {least} {about} {most}, {before_it:?}"), &found, &true)?;
            }
            None => same(&what, &0, &before_it.len())?,
        }
    }
    same("cuts", &audit.instruments.cuts.len(), &interpretation.passages.len())
}

fn margins(record: &RunRecord, audit: &Audit, interpretation: &Interpretation) -> Agreement {
    let one = |what: &str, product: Option<analysis::Margin>, expected: &Option<Margin>| {
        same(&format!("{what} margin is there"), &product.is_some(), &expected.is_some())?;
        if let (Some(product), Some(expected)) = (product, expected) {
            same(&format!("{what} margin at"), &product.at, &record.instants()[expected.sample])?;
            // The difference of two figures near one another has lost digits.
            close(&format!("{what} margin"), product.margin, expected.margin.to_f64(), 1.0)?;
        }
        Ok(())
    };
    one("temperature", audit.margins.temperature, &interpretation.temperature_margin)?;
    one("differential", audit.margins.differential, &interpretation.differential_margin)
}

/// The product may tell many samples of one kind in one observation; each sample must lie in one,
/// and no observation may stand without a sample.
fn observations(record: &RunRecord, audit: &Audit, interpretation: &Interpretation) -> Agreement {
    let nothing = Look::default();
    for kind in analysis::observations::KINDS {
        let key = kind.key();
        let Some((_, rank)) = RANKS.iter().find(|(known, _)| *known == key) else {
            same(&format!("{key} is a kind of the product's own"), &OWN.contains(&key), &true)?;
            continue;
        };
        same(&format!("rank of {key}"), &kind.rank(), rank)?;
        let told: Vec<_> = audit.observations.iter().filter(|one| one.kind == *kind).collect();
        if EXACT.contains(&key) {
            let expected = interpretation.told.get(key).cloned().unwrap_or_default();
            same(key, &exactly(&told)?, &expected)?;
            continue;
        }
        let look = interpretation.looks.get(key).unwrap_or(&nothing);
        observations_of_kind(record, &told, look, &interpretation.cleaning)
            .map_err(|difference| format!("{key} {difference}\n{told:#?}\n{look:?}"))?;
    }
    for key in interpretation.looks.keys() {
        let known = analysis::observations::KINDS.iter().any(|kind| kind.key() == *key);
        same(&format!("{key} is a kind of the product"), &known, &true)?;
    }
    Ok(())
}

/// What each observation spans and counts, in order.
fn exactly(told: &[&Observation]) -> Result<Vec<Told>, String> {
    let mut exactly = Vec::new();
    for one in told {
        let Some(interval) = one.interval else { return Err(format!("{one:?} has no interval")) };
        exactly.push(Told { span: span(interval), count: one.count as usize });
    }
    exactly.sort_unstable();
    Ok(exactly)
}

fn observations_of_kind(
    record: &RunRecord,
    told: &[&Observation],
    look: &Look,
    cleaning: &[Run],
) -> Agreement {
    let of_run = |run: Run| Interval::between(record.instants()[run.0], record.instants()[run.1]);
    let overlaps = |one: &Observation, run: Run| {
        one.interval.is_none_or(|interval| {
            interval.start() <= of_run(run).end() && of_run(run).start() <= interval.end()
        })
    };
    for &sample in &look.must {
        let covered = told.iter().any(|one| overlaps(one, (sample, sample)));
        same(&format!("covers sample {sample}"), &covered, &true)?;
    }
    for &run in &look.within {
        let covered = told.iter().any(|one| overlaps(one, run));
        same(&format!("covers something of {run:?}"), &covered, &true)?;
    }
    for one in told {
        let holds_one = look.may.iter().any(|&sample| overlaps(one, (sample, sample)));
        same(&format!("has a sample in {:?}", one.interval), &holds_one, &true)?;
        same("counts something", &(one.count > 0), &true)?;
    }
    for &stretch in cleaning {
        let inside = told.iter().filter(|one| {
            one.interval.is_some_and(|interval| of_run(stretch).hull(interval) == of_run(stretch))
        });
        same(&format!("at most once in the cleaning {stretch:?}"), &(inside.count() <= 1), &true)?;
    }
    Ok(())
}
