//! Every divert: how long it lasted, what the record shows of its reason, how fast the device
//! answered, and how much was returned meanwhile (method, section 8, "diverts").
//!
//! What the device does in cleaning is no divert: its seats are pulsed there.

use crate::context::Context;
use crate::instruments::{Instruments, Response};
use crate::reason::{DivertReason, Shown, shown};
use crate::transitions::{Side, Transition};
use crate::volume::metered;
use plant::Mode;
use sha2::{Digest, Sha256};
use trace::{Decimal, Instant, Interval, Value, VolumeUnit, hexadecimal};

/// One stretch out of forward flow.
#[derive(Debug, Clone, PartialEq)]
pub struct Divert {
    /// Stable: the same record gives the same id everywhere.
    pub id: String,
    /// From the first diverted sample to the last before forward flow.
    pub observed: Interval,
    /// From the last forward sample to the next one, or to the end of the record.
    pub outer: Interval,
    /// From half way before the first diverted sample to half way after the last.
    pub estimate: Interval,
    /// Whether forward flow came back in the record.
    pub is_over: bool,
    /// What the record shows of the reason.
    pub reason: DivertReason,
    /// The reading that shows it.
    pub reading: Option<Value>,
    /// The holding temperature at the last forward sample.
    pub temperature: Option<Decimal>,
    /// How long the device took from a shortfall to full divert.
    pub response: Option<Response>,
    /// What the meter saw over the estimate; `None` without a meter or with readings missing.
    pub returned: Option<f64>,
    /// Its unit.
    pub unit: VolumeUnit,
    /// The product at the last forward sample; blank without one.
    pub product: String,
    /// The lot there.
    pub lot: String,
    /// What the line was doing there.
    pub mode: Mode,
}

/// All diverts, in order.
pub(crate) fn diverts(
    context: &Context<'_>,
    transitions: &[Transition],
    instruments: &Instruments,
) -> Vec<Divert> {
    let record = context.record;
    let verdicts = context.verdicts;
    let instants = record.instants();
    let mut diverts = Vec::new();
    for (place, transition) in transitions.iter().enumerate() {
        let (last, first) = transition.samples;
        let is_cleaned = [last, first].map(|one| context.mode_at(one)) == [Mode::Cleaning; 2];
        if transition.to != Side::Divert || is_cleaned {
            continue;
        }
        let back = transitions.get(place + 1).map(|next| next.samples);
        let (until, end) = back.unwrap_or_else(|| {
            let end = record.samples() - 1;
            let diverted = (first..=end).rev().find(|&sample| !verdicts.is_exposed(sample));
            (diverted.unwrap_or(first), end)
        });
        let estimate =
            Interval::between(verdicts.midpoint_before(first), verdicts.midpoint_after(until));
        let Shown { reason, reading } = shown(context, transition.samples, back);
        let word = |text: Option<&trace::TextChannel>| {
            text.map_or_else(String::new, |text| text.word(last).to_owned())
        };
        diverts.push(Divert {
            id: id(record.unit(), transition.at),
            observed: Interval::between(instants[first], instants[until]),
            outer: Interval::between(instants[last], instants[end]),
            estimate,
            is_over: back.is_some(),
            reason,
            reading,
            temperature: transition.temperature_before,
            response: instruments.cuts.get(place).and_then(|cut| cut.response),
            returned: metered(record, context.plant, verdicts, estimate),
            unit: record.flow_rate().map_or(VolumeUnit::Litre, |flow| flow.unit().volume()),
            product: word(record.product()),
            lot: word(record.lot()),
            mode: context.mode_at(last),
        });
    }
    diverts
}

/// The first 48 bits of the SHA-256 of unit, a word and the first diverted instant.
fn id(unit: &str, at: Instant) -> String {
    let mut digest = Sha256::new();
    for part in [unit, "divert"] {
        digest.update(part.as_bytes());
        digest.update([0]);
    }
    digest.update(at.unix_milliseconds().to_string().as_bytes());
    hexadecimal(&digest.finalize()[..6])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::specimen::{Specimen, at, day, span};

    fn told(specimen: Specimen) -> Vec<Divert> {
        specimen.audit().diverts
    }

    #[test]
    fn a_divert_has_three_intervals() {
        let found = told(day("F*3 V D*3 V F*2 D*2").holding("165*3 160 165"));
        let [one, last] = found.as_slice() else { panic!("{found:#?}") };
        assert_eq!(
            (one.observed, one.outer, one.estimate),
            (span(4000, 6000), span(2000, 8000), span(3500, 6500))
        );
        assert_eq!(one.reason, DivertReason::Temperature);
        let unit = trace::TemperatureUnit::Fahrenheit;
        assert_eq!(one.reading, Some(Value::Temperature(Decimal::whole(160), unit)));
        assert_eq!(one.temperature, Some(Decimal::whole(165)));
        assert!(one.is_over && !last.is_over);
        // The record ends in it.
        assert_eq!((last.observed, last.outer), (span(10_000, 11_000), span(9000, 11_000)));
    }

    #[test]
    fn the_response_is_that_of_the_cut_out() {
        let found = told(day("F*3 D").holding("165 160*3"));
        let response = found.first().and_then(|one| one.response);
        // 165 → 160 meets 161 after 0.8 s, diverted at 2.5 s.
        assert_eq!(response.map(|one| one.about.milliseconds()), Some(1700));
        assert_eq!(told(day("F*3 D")).first().and_then(|one| one.response), None);
    }

    /// 20 L/min for ten seconds and the two halves of the steps around them.
    #[test]
    fn what_the_meter_saw_while_diverted_was_returned() {
        let of = |flow: &str| {
            let found = told(day("F D*11 F").flow(flow));
            found.first().and_then(|one| one.returned)
        };
        let litres = |seconds: f64| 20.0 * seconds / 60.0;
        assert!(
            of("20").is_some_and(|found| (found - litres(11.0)).abs() < 1e-9),
            "{:?}",
            of("20")
        );
        // What was not read is not guessed.
        assert_eq!(of("20*4 _ 20"), None);
        assert_eq!(told(day("F D*11 F")).first().and_then(|one| one.returned), None);
    }

    #[test]
    fn pulses_in_cleaning_are_no_diverts() {
        assert_eq!(told(day("D F D F D").mode("cip")), []);
        assert_eq!(told(day("F D F D").mode("production cip")).len(), 1);
    }

    #[test]
    fn an_id_follows_from_unit_and_instant() {
        let found = told(day("F D F D"));
        let ids: Vec<&str> = found.iter().map(|one| one.id.as_str()).collect();
        assert_eq!(ids, [id("unit", at(1000)), id("unit", at(3000))]);
        assert_ne!(ids[0], ids[1]);
        // `printf 'unit\0divert\0%s' 1000 | sha256sum`
        assert_eq!(ids[0], "9b06b67ee153");
    }
}
