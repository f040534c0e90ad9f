//! Figures held against things outside the program: printed tables, worked examples, other people's solvers, plain physics.

mod limits;
mod required;
mod rows;
