//! Every change of the product: when, from what to what, how close the milk came to the limits of
//! the stricter of both, and what the holding tube held of both (method, section 8, "product changes").

use crate::context::Context;
use crate::limits::is_same;
use crate::residence::{effective_volume, greatest_flow};
use crate::verdicts::Run;
use trace::{ChannelView, Decimal, Instant, Interval, Unit as _, VolumeUnit};

/// A change from one product to another.
#[derive(Debug, Clone, PartialEq)]
pub struct ProductChange {
    /// From the last sample that names the one to the first that names the other.
    pub interval: Interval,
    /// The product before.
    pub from: String,
    /// The product after.
    pub to: String,
    /// Whether product could go forward at the change.
    pub is_forward: bool,
    /// The least holding temperature against the limit of the stricter product; `None` where nothing
    /// could go forward, or a reading is missing.
    pub temperature: Option<AtChange>,
    /// The greatest flow against the greatest at which the tube holds for the longer time.
    pub flow: Option<AtChange>,
    /// What stands in the holding tube, which is a mix of both: its effective volume. An estimate.
    pub mixed: Option<(f64, VolumeUnit)>,
}

/// The reading closest to a limit at a change.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AtChange {
    /// The reading.
    pub reading: Decimal,
    /// The limit.
    pub limit: f64,
    /// How far the reading is on the safe side; below 0 where it is not.
    pub margin: f64,
    /// The symbol of the unit of all three.
    pub unit: &'static str,
}

impl ProductChange {
    /// When the other product is named first.
    pub const fn at(&self) -> Instant {
        self.interval.end()
    }
}

/// The changes, in order. What is blank between two products is neither.
pub(crate) fn product_changes(context: &Context<'_>) -> Vec<ProductChange> {
    let Some(product) = context.record.product() else { return Vec::new() };
    let mut changes = Vec::new();
    let mut last: Option<usize> = None;
    for sample in 0..context.record.samples() {
        let word = product.word(sample);
        if word.trim().is_empty() {
            continue;
        }
        if let Some(last) = last.filter(|&last| !is_same(product.word(last), word)) {
            let (from, to) = (product.word(last).to_owned(), word.to_owned());
            changes.push(change(context, (last, sample), (from, to)));
        }
        last = Some(sample);
    }
    changes
}

/// Up to the longer minimum time after the first sample of the new product, the milk that leaves the tube
/// may be of both.
fn change(
    context: &Context<'_>,
    (last, first): Run,
    (from, to): (String, String),
) -> ProductChange {
    let record = context.record;
    let instants = record.instants();
    let spans = || [last, first].into_iter().map(|sample| context.span(sample));
    let longest = spans().map(|span| span.minimum_time).max().unwrap_or_default();
    let until = instants[first] + longest;
    let end = record.sample_at(until).unwrap_or(first);
    let is_seen = |sample| !context.verdicts.gap_after(sample) || instants[sample] >= until;
    let is_whole = (last..=end).all(is_seen);
    let exposed: Vec<usize> =
        (last..=end).filter(|&sample| context.verdicts.is_exposed(sample)).collect();
    let limit = spans()
        .map(|span| span.exact)
        .reduce(|one, other| if other.is_above(one) { other } else { one });
    let holding = record.holding_temperature();
    let coldest = furthest(holding.mantissas(), &exposed, i64::min).filter(|_| is_whole);
    let temperature = coldest.zip(limit).map(|(least, limit)| {
        let (reading, limit) = (Decimal::new(least, holding.scale()), limit.to_f64());
        let margin = reading.to_f64() - limit;
        AtChange { reading, limit, margin, unit: holding.unit().symbol() }
    });
    let flow = record.flow_rate().and_then(|channel| {
        let fastest = furthest(channel.mantissas(), &exposed, i64::max).filter(|_| is_whole)?;
        let of = |span| greatest_flow(record, context.plant, span, fastest);
        let limit = spans().map(of).collect::<Option<Vec<f64>>>()?.into_iter().reduce(f64::min)?;
        let reading = Decimal::new(fastest, channel.scale());
        let margin = limit - reading.to_f64();
        Some(AtChange { reading, limit, margin, unit: channel.unit().symbol() })
    });
    ProductChange {
        interval: Interval::between(instants[last], instants[first]),
        from,
        to,
        is_forward: !exposed.is_empty(),
        temperature,
        flow,
        mixed: effective_volume(record, context.plant, first),
    }
}

/// The reading that goes furthest among some samples; `None` where one of them can't be read.
fn furthest(mantissas: &[i64], samples: &[usize], further: fn(i64, i64) -> i64) -> Option<i64> {
    let mut readings = samples.iter().map(|&sample| mantissas[sample]);
    let first = readings.next()?;
    readings
        .try_fold(first, |held, one| ChannelView::is_valid(one).then(|| further(held, one)))
        .filter(|_| ChannelView::is_valid(first))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::specimen::{Specimen, day, span};

    fn told(specimen: Specimen) -> Vec<ProductChange> {
        let products = [("milk", "us-milk-15s"), ("cream", "us-rich-15s")];
        specimen.products(&products).tube(20, 16_000).audit().product_changes
    }

    fn only(specimen: Specimen) -> ProductChange {
        match told(specimen).as_slice() {
            [one] => one.clone(),
            others => panic!("{others:#?}"),
        }
    }

    /// Cream is held to 166 °F, also by the milk before it: 165.5 is half a degree short. 20 for 16 s is
    /// the tube, 21.33 at most. The milk of up to 15 s later counts, and no more.
    #[test]
    fn a_change_is_held_to_the_stricter_product() {
        let one = only(
            day("F*40")
                .product("milk*10 cream")
                .holding("170*9 165.5 167*16 160")
                .flow("20*9 20.5 20*15 21 30"),
        );
        assert_eq!((one.interval, one.at()), (span(9000, 10_000), span(0, 10_000).end()));
        assert_eq!((one.from.as_str(), one.to.as_str(), one.is_forward), ("milk", "cream", true));
        let unit = "\u{b0}F";
        let expected =
            AtChange { reading: Decimal::new(1655, 1), limit: 166.0, margin: -0.5, unit };
        assert_eq!(one.temperature, Some(expected));
        let flow =
            one.flow.map(|flow| (flow.reading, (flow.limit * 100.0).round(), flow.margin > 0.3));
        assert_eq!(flow, Some((Decimal::new(210, 1), 2133.0, true)));
        // 20 gal/min for 16 s.
        let mixed = one.mixed.map(|(volume, unit)| ((volume * 1000.0).round(), unit));
        assert_eq!(mixed, Some((5333.0, VolumeUnit::Gallon)));
    }

    #[test]
    fn what_was_diverted_has_no_margin() {
        let one = only(day("F*5 D*40 F").product("milk*10 cream").flow("20"));
        assert!(!one.is_forward && one.temperature.is_none() && one.flow.is_none());
        assert!(one.mixed.is_some());
    }

    /// Where a reading is missing or a gap lies there, nothing is told of it.
    #[test]
    fn nothing_is_told_of_what_was_not_read() {
        let day = || day("F*40").product("milk*10 cream").flow("20");
        assert_eq!(only(day().holding("170*12 _ 170")).temperature, None);
        assert_eq!(only(day().holding("170*9 _ 170")).temperature, None);
        assert_eq!(only(day().step(12, 60_000)).temperature, None);
        assert!(only(day().step(30, 60_000)).temperature.is_some());
        assert_eq!(only(day().flow("20*12 _ 20")).flow, None);
    }

    #[test]
    fn only_another_product_is_a_change() {
        let changes = |words: &str| {
            let found = told(day("F*20").product(words));
            found.iter().map(|one| format!("{}-{}", one.from, one.to)).collect::<Vec<_>>()
        };
        assert_eq!(changes("milk*5 MILK*5 ~milk"), [""; 0]);
        assert_eq!(changes("_*5 milk*5 _*5"), [""; 0]);
        assert_eq!(changes("milk*5 _*5 milk"), [""; 0]);
        assert_eq!(changes("milk*5 _*5 cream*5 milk"), ["milk-cream", "cream-milk"]);
        assert_eq!(told(day("F*20").lot("A*5 B")), []);
    }
}
