//! Every integration test, in one binary.

mod rules;
mod schema;
mod support;
