#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| ampledger_fuzz::fix(bytes));
