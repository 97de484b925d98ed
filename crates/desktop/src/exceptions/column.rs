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

impl Column {
    /// All columns, from left to right.
    pub const ALL: [Self; 10] = [
        Self::Rule,
        Self::Review,
        Self::Start,
        Self::AtLeast,
        Self::Estimate,
        Self::AtMost,
        Self::Worst,
        Self::Volume,
        Self::Product,
        Self::Lot,
    ];

    /// The heading.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Rule => "Rule",
            Self::Review => "Review",
            Self::Start => "Start",
            Self::AtLeast => "At least",
            Self::Estimate => "Estimate",
            Self::AtMost => "At most",
            Self::Worst => "Worst / limit",
            Self::Volume => "Passed",
            Self::Product => "Product",
            Self::Lot => "Lot",
        }
    }

    /// Whether its cells stand to the right.
    pub const fn is_figure(self) -> bool {
        matches!(
            self,
            Self::Start
                | Self::AtLeast
                | Self::Estimate
                | Self::AtMost
                | Self::Worst
                | Self::Volume
        )
    }
}
