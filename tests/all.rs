//! Every integration test, in one binary.

mod new;
mod rules;
mod schema;
mod support;
