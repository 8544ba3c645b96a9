//! studies
