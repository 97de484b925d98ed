//! Amounts compared with the run sheet, and changes of the product, in words.

use crate::Case;
use crate::figures::{decimal_places, plain_volume, recorded, time_of_day};
use crate::limits::limit_words;
use crate::lines::{apart, span};
use crate::words::{named, plural};
use analysis::{AtChange, NotMetered, ProductChange, RunAmount, SumAmount};
use trace::{Decimal, VolumeUnit};

/// What the meter saw in forward flow: `1901 gal`, or `not known`.
pub fn metered_amount(run: &RunAmount) -> String {
    run.metered
        .map_or_else(|_| "an unknown amount".to_owned(), |value| plain_volume(value, run.unit))
}

/// What the run sheet states: `1900 gal`; nothing where it states none.
pub fn stated_amount(stated: Option<(Decimal, VolumeUnit)>) -> String {
    let shown =
        |(value, unit): (Decimal, VolumeUnit)| format!("{} {}", recorded(value), unit.symbol());
    stated.map_or_else(String::new, shown)
}

/// The reading at a change of the product against the limit: `1.2 °F above 166 °F`.
fn against(at: AtChange, (safe, not): (&str, &str)) -> String {
    let side = if at.margin < 0.0 { not } else { safe };
    let (apart, limit) = (apart(at.margin), limit_words(at.limit, at.unit));
    format!("{} {}, {apart} {} {side} {limit}", recorded(at.reading), at.unit, at.unit)
}

/// The least temperature at a change, and the greatest flow; what was diverted says so.
pub fn change_temperature(change: &ProductChange) -> String {
    margin(change, change.temperature, ("above", "BELOW"))
}

/// The greatest flow at a change against that at which the tube holds for exactly the minimum.
pub fn change_flow(change: &ProductChange) -> String {
    margin(change, change.flow, ("below", "ABOVE"))
}

fn margin(change: &ProductChange, at: Option<AtChange>, sides: (&str, &str)) -> String {
    match at {
        Some(at) => against(at, sides),
        None if change.is_forward => "not known".to_owned(),
        None => "diverted".to_owned(),
    }
}

/// What stands in the holding tube at a change: `about 13.8 gal`.
pub fn mixed(change: &ProductChange) -> String {
    change.mixed.map_or_else(
        || "not known".to_owned(),
        |(volume, unit)| format!("about {}", plain_volume(volume, unit)),
    )
}

impl Case {
    /// How far a metered amount is from the stated one, or why they can't be compared.
    pub fn amount_words(&self, run: &RunAmount) -> String {
        match (run.metered, run.percent_apart()) {
            (Err(why), _) => format!("can't be compared: {}", NotMetered::name(why)),
            (Ok(_), None) => "no quantity on the run sheet".to_owned(),
            (Ok(_), Some(apart)) => self.apart(apart, run.is_beyond(self.plant.amount_limit())),
        }
    }

    fn apart(&self, apart: f64, is_beyond: bool) -> String {
        let limit = self.plant.amount_limit();
        let side = if is_beyond { "more than" } else { "within" };
        let (digits, up) = (1, if is_beyond { (apart * 10.0).ceil() / 10.0 } else { apart });
        format!("{} % apart, {side} {limit} %", decimal_places(up, digits))
    }

    /// The same of a lot or a tank.
    pub fn sum_words(&self, sum: &SumAmount) -> String {
        match (sum.metered, sum.percent_apart()) {
            (None, _) => "can't be compared: a run is not metered throughout".to_owned(),
            (_, None) => "no quantity on the run sheet for each run".to_owned(),
            (_, Some(apart)) => self.apart(apart, apart > self.plant.amount_limit().to_f64()),
        }
    }

    /// A run of the sheet in a line: what was metered, what is stated, how far they are apart.
    pub fn amount_line(&self, run: &RunAmount) -> String {
        let mut of = vec![run.product.clone()];
        for (word, name) in [("lot", &run.lot), ("tank", &run.tank)] {
            if !name.is_empty() {
                of.push(named(word, name));
            }
        }
        let stated = match stated_amount(run.stated) {
            none if none.is_empty() => none,
            stated => format!(", {stated} on the run sheet"),
        };
        format!(
            "{}  {}: {} metered in forward flow{stated}; {}",
            span(run.interval, self.plant.zone),
            of.join(", "),
            metered_amount(run),
            self.amount_words(run)
        )
    }

    /// The lots and tanks of the sheet, a line each.
    pub fn sum_lines(&self) -> Vec<String> {
        let amounts = &self.audit.amounts;
        let line = |word: &str, sum: &SumAmount| {
            let volume = |value: Option<f64>| {
                value.map_or_else(|| "not known".to_owned(), |value| plain_volume(value, sum.unit))
            };
            format!(
                "{}, {}: {} metered, {} stated; {}",
                named(word, &sum.name),
                plural(sum.runs, "run"),
                volume(sum.metered),
                volume(sum.stated),
                self.sum_words(sum)
            )
        };
        let lots = amounts.lots.iter().map(|sum| line("lot", sum));
        lots.chain(amounts.tanks.iter().map(|sum| line("tank", sum))).collect()
    }

    /// A change of the product in a line.
    pub fn change_line(&self, change: &ProductChange) -> String {
        let zone = self.plant.zone;
        let margins = if change.is_forward {
            format!(
                "forward; lowest temperature {}; highest flow {}",
                change_temperature(change),
                change_flow(change)
            )
        } else {
            "diverted".to_owned()
        };
        format!(
            "{} {}  {} to {}: {margins}; mixed: {}, an estimate of what is in the holding tube",
            zone.date(change.at()),
            time_of_day(zone, change.at()),
            change.from,
            change.to,
            mixed(change)
        )
    }
}

#[cfg(test)]
mod tests {
    use crate::samples::{day_with_sheet, file};

    /// Five minutes and five minutes at 50.1 gal/min on the average; the second run goes on after the record.
    #[test]
    fn both_figures_are_told_or_why_there_is_none() {
        let rows = file(&[(601, 'F', "169.", "", "run")], &[]);
        let sheet = "start,end,product,lot,tank,quantity (gal)\n\
                     2026-03-04 06:00,2026-03-04 06:05,milk,L1,T1,250\n\
                     2026-03-04 06:05,2026-03-04 06:20,cream,L2,T1,700\n";
        let case = day_with_sheet(&rows, sheet);
        let lines: Vec<_> =
            case.audit.amounts.runs.iter().map(|run| case.amount_line(run)).collect();
        assert_eq!(
            lines,
            [
                "2026-03-04 06:00:00 to 06:05:00  milk, lot L1, tank T1: 250 gal metered in forward \
                 flow, 250 gal on the run sheet; 0.2 % apart, within 3 %",
                "2026-03-04 06:05:00 to 06:20:00  cream, lot L2, tank T1: an unknown amount metered in \
                 forward flow, 700 gal on the run sheet; can't be compared: a part of it lies \
                 outside the record",
            ]
        );
        assert_eq!(
            case.sum_lines(),
            [
                "lot L1, 1 run: 250 gal metered, 250 gal stated; 0.2 % apart, within 3 %",
                "lot L2, 1 run: not known metered, 700 gal stated; can't be compared: a run is not \
                 metered throughout",
                "tank T1, 2 runs: not known metered, 950 gal stated; can't be compared: a run is \
                 not metered throughout",
            ]
        );
        // Without a product column the sheet names the products; cream is not in the plant file.
        let changes: Vec<_> =
            case.audit.product_changes.iter().map(|one| case.change_line(one)).collect();
        assert_eq!(
            changes,
            ["2026-03-04 06:05:00  milk to cream: forward; lowest temperature 169.0 \u{b0}F, 3 \
              \u{b0}F above 166 \u{b0}F; highest flow 50.2 gal/min, 4.8 gal/min below 55 gal/min; \
              mixed: about 13.8 gal, an estimate of what is in the holding tube"]
        );
    }
}
