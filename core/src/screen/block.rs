//! Blocks: what a screen or page shows, as values in reading order.
//!
//! A block says what is to be read, never how it looks. Its key lives as long
//! as its meaning.

use serde::Serialize;

use crate::chart::Scene;

/// A page: a title and blocks in reading order.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Page {
    /// What the page is.
    pub title: String,
    /// One line under the title.
    pub subtitle: String,
    /// What it shows, in reading order.
    pub blocks: Vec<Block>,
}

/// Where a statement comes from. The three look different on every page, and
/// not by colour alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// Read or counted.
    Measured,
    /// Computed from what was read, with its uncertainty.
    Inferred,
    /// Taken for granted, and said so.
    Assumed,
}

impl Basis {
    /// The word that goes with it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Measured => "measured",
            Self::Inferred => "inferred",
            Self::Assumed => "assumed",
        }
    }
}

/// One block.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "block", rename_all = "snake_case")]
pub enum Block {
    /// A heading over what follows.
    Heading {
        /// Its key.
        key: String,
        /// The heading.
        text: String,
    },
    /// A paragraph.
    Text {
        /// Its key.
        key: String,
        /// Where it comes from.
        basis: Basis,
        /// The paragraph.
        text: String,
    },
    /// Rows of figures under columns.
    Table {
        /// Its key.
        key: String,
        /// What the table is, for who can't see it.
        alt: String,
        /// The columns' heads; the first one is that of the rows' names.
        columns: Vec<String>,
        /// The rows.
        rows: Vec<Row>,
    },
    /// A chart.
    Chart {
        /// Its key.
        key: String,
        /// The chart, with its own text alternatives.
        scene: Scene,
    },
    /// A list.
    Items {
        /// Its key.
        key: String,
        /// One line each.
        items: Vec<String>,
    },
    /// Steps in their order, counted from 1.
    Steps {
        /// Its key.
        key: String,
        /// One line each, without its number.
        items: Vec<String>,
    },
    /// A text that somebody wrote as CommonMark. No markup in it is trusted: a shell
    /// shows headings, lists and emphasis, and every tag, picture and link as text.
    Markup {
        /// Its key.
        key: String,
        /// The text as it was written.
        text: String,
    },
    /// Something to be careful about.
    Caution {
        /// Its key.
        key: String,
        /// What.
        text: String,
    },
}

impl Block {
    /// Its key.
    pub fn key(&self) -> &str {
        match self {
            Self::Heading { key, .. }
            | Self::Text { key, .. }
            | Self::Table { key, .. }
            | Self::Chart { key, .. }
            | Self::Items { key, .. }
            | Self::Steps { key, .. }
            | Self::Markup { key, .. }
            | Self::Caution { key, .. } => key,
        }
    }
}

/// A row of a table.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// What the row is about.
    pub name: String,
    /// Where its figures come from.
    pub basis: Basis,
    /// A figure for each further column.
    pub cells: Vec<String>,
}
