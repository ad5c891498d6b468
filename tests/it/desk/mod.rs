//! The desk: requests that it refuses, results that equal the command line's, and a real browser.

mod browser;
mod http;
mod pages;
mod requests;
mod server;
