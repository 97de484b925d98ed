//! A holding time certificate that is older than six months, or not dated.

use super::look::{Found, Look};
use trace::{FigureKind, Definition, Rank, Value};

pub(super) const DEFINITION: Definition = Definition {
    key: "certificate_old",
    title: "holding time certificate old or not dated",
    rank: Rank::Note,
    figures: &[("tested", FigureKind::Word), ("undated", FigureKind::Word)],
    sentence: "[the holding time test of {tested} is older than six months][{undated}]; have the tube tested, or correct the plant file",
    about: &[],
    why: "The holding time is judged by the last test of the tube; a repair or another pump can \
          shorten it without showing in the record.",
    what_to_do: "Have the holding time tested, and enter date and result in the plant file.",
    source: "every six months: ATCP 65.68(3)(b), 1 NYCRR 3.27(b) of condensing and drying plants (text read)",
};

/// How old a certificate may be.
const MONTHS: u32 = 6;

pub(super) fn find(look: &Look<'_>, found: &mut Found<'_>) {
    let context = look.context;
    let Some(certificate) = context.plant.tube.as_ref().and_then(plant::Tube::certificate) else {
        return;
    };
    let whole = context.record.interval();
    let day = context.plant.zone.local(whole.end()).date_naive();
    match certificate.tested_date() {
        None => found.add(whole, 1, |one| {
            one.with("undated", Value::Word("the holding time certificate bears no date".to_owned()))
        }),
        Some(tested) if plant::months_after(tested, MONTHS).is_none_or(|due| due < day) => {
            found.add(whole, 1, |one| one.with("tested", Value::Word(tested.to_string())));
        }
        Some(_) => {}
    }
}

#[cfg(test)]
mod tests {
    use crate::specimen::{day, observed};

    /// The record is of 1 January 1970. Six months after 1 July 1969 is that day, which is not older
    /// than six months; a day earlier is.
    #[test]
    fn older_than_six_months_is_old() {
        let of = |tested_on: Option<&str>| {
            let day = day("D F").tube(20, 16_000).flow("20").set(|plant| {
                if let Some(plant::Tube::Certified(certificate)) = &mut plant.tube {
                    certificate.tested_on = tested_on.map(str::to_owned);
                }
            });
            observed(&day.audit(), "certificate_old")
        };
        assert_eq!(of(Some("1969-07-01")), [""; 0]);
        assert_eq!(of(Some("1969-06-30")), ["0..1000 n=1 tested=\"1969-06-30\""]);
        let undated = ["0..1000 n=1 undated=\"the holding time certificate bears no date\""];
        assert_eq!(of(None), undated);
        assert_eq!(of(Some("last spring")), undated);
    }

    #[test]
    fn without_a_certificate_none_is_old() {
        assert_eq!(observed(&day("F").flow("20").audit(), "certificate_old"), [""; 0]);
    }

    /// Also where no flow is recorded, so that the time is not judged: the tube is due all the same.
    #[test]
    fn an_old_certificate_is_told_where_the_time_is_not_judged() {
        let day = day("F").tube(20, 16_000).set(|plant| {
            if let Some(plant::Tube::Certified(certificate)) = &mut plant.tube {
                certificate.tested_on = Some("1968-01-01".to_owned());
            }
        });
        assert_eq!(
            observed(&day.audit(), "certificate_old"),
            ["0..0 n=1 tested=\"1968-01-01\""]
        );
    }
}
