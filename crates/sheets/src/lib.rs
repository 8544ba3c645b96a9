//! sheets
