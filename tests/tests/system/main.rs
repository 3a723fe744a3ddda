//! The whole system, from outside: the real program, real files, readers that share no code with ours.
//!
//! One test program, because each one links the query engine. A file holds one subject.

mod help;
mod readers;
