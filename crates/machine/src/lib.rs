//! machine
