//! What the program is to a shell: words to complete, help and manual pages, links in what it prints.

mod complete;
mod help;
mod links;
