//! Compares the product's audit with the interpreter's, field by field; the first difference is
//! told in words.

use crate::exact::Exact;
use crate::interpreter::{
    Finding, Interpretation, Margin, Span, differential_reading, temperature_reading,
};
use analysis::{Audit, Class, Exception, Rule};
use std::fmt::Debug;
use trace::{Decimal, Interval, ObservationKind, RunRecord};

/// The kinds of observation that both audits make.
pub const COMPARED: [ObservationKind; 12] = [
    ObservationKind::RecorderAboveIndicating,
    ObservationKind::RecorderDisagrees,
    ObservationKind::CutInBelowLimit,
    ObservationKind::CutOutBelowLimit,
    ObservationKind::SlowResponse,
    ObservationKind::DifferentialLowNotForward,
    ObservationKind::ForwardNotProduction,
    ObservationKind::UnknownProduct,
    ObservationKind::GapDiverted,
    ObservationKind::SlowSampling,
    ObservationKind::FrozenReading,
    ObservationKind::ImpossibleStep,
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
    limits(audit, interpretation)?;
    exceptions(audit, interpretation)?;
    episodes(audit, interpretation)?;
    residence(audit, interpretation)?;
    accounting(audit, interpretation)?;
    in_doubt(audit, interpretation)?;
    passages(record, audit, interpretation)?;
    margins(record, audit, interpretation)?;
    observations(record, audit, interpretation)
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
            same(&what, &limit_span.product.trim(), &limit.product.trim())?;
            same(&what, &limit_span.unknown_product, &limit.unknown)?;
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
    exceptions
        .sort_by_key(|exception| (exception.estimate.start(), exception.rule, exception.samples));
    let list = |rules: Vec<String>| rules.join("; ");
    same(
        "exceptions",
        &list(
            exceptions
                .iter()
                .map(|one| format!("{:?} {:?} {:?}", one.rule, one.cause, one.samples))
                .collect(),
        ),
        &list(
            interpretation
                .findings
                .iter()
                .map(|one| format!("{:?} {:?} {:?}", one.rule, one.cause, one.samples))
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
    if let (Some(worst), Some(expected), Rule::HoldingTime) =
        (product.worst, &interpreter.worst, product.rule)
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
    same("products", &product.products, &interpreter.products)?;
    same("lots", &product.lots, &interpreter.lots)?;
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

fn residence(audit: &Audit, interpretation: &Interpretation) -> Agreement {
    for (sample, expected) in interpretation.residence.iter().enumerate() {
        let product = audit.residence.as_ref().and_then(|residence| residence.at(sample));
        let what = format!("residence at sample {sample}");
        same(&format!("{what} is known"), &product.is_some(), &expected.is_some())?;
        let (Some(product), Some((whole, short))) = (product, *expected) else { continue };
        // The exact time lies between the whole milliseconds and one more.
        let product = product.milliseconds();
        if !(whole..=whole + 1).contains(&product) {
            same(&what, &product, &whole)?;
        }
        // Rounded or not, what is shown must not contradict the verdict.
        let minimum = interpretation.limits[sample].minimum_time;
        same(&format!("{what} is short of {minimum}"), &(product < minimum), &short)?;
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

fn in_doubt(audit: &Audit, interpretation: &Interpretation) -> Agreement {
    let momentary = |of: fn(&Finding) -> Span| {
        interpretation.findings.iter().map(of).any(|span| span.0 == span.1)
    };
    let estimates = momentary(|finding| finding.estimate);
    let outers = momentary(|finding| finding.outer);
    for (what, momentary, volume, expected) in [
        ("volume in doubt", estimates, audit.in_doubt.value, interpretation.in_doubt.0),
        ("outer volume in doubt", outers, audit.in_doubt.outer_value, interpretation.in_doubt.1),
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
    Ok(())
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
    for kind in COMPARED {
        let told: Vec<_> = audit.observations.iter().filter(|one| one.kind == kind).collect();
        let expected = interpretation.looks.get(&kind);
        same(&format!("{} is told", kind.key()), &!told.is_empty(), &expected.is_some())?;
        for &sample in expected.into_iter().flatten() {
            let at = record.instants()[sample];
            let covered =
                told.iter().any(|one| one.interval.is_none_or(|interval| interval.contains(at)));
            same(&format!("{} covers sample {sample}", kind.key()), &covered, &true)?;
        }
        for one in told {
            let Some(interval) = one.interval else { continue };
            let holds_one = expected
                .into_iter()
                .flatten()
                .any(|&sample| interval.contains(record.instants()[sample]));
            same(&format!("{} has a sample", kind.key()), &holds_one, &true)?;
        }
    }
    Ok(())
}
