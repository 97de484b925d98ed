//! The list of exceptions, the heart of the program: sorted, filtered, folded by episode. It works
//! without sight of the plots: every row says all of itself in words.

pub mod column;
pub mod list;
pub mod row;
pub mod table;
