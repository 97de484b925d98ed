//! The columns of the list of exceptions.

/// A column of the list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Column {
    /// The rule and what the record says of the cause.
    Rule,
    /// Where it stands in the review.
    Review,
    /// The local time of the estimate's start.
    Start,
    /// What was observed.
    AtLeast,
    /// The estimate.
    Estimate,
    /// The outer bound.
    AtMost,
    /// The worst reading against its limit.
    Worst,
    /// The product that passed.
    Volume,
    /// The product's name.
    Product,
    /// The lot.
    Lot,
}
