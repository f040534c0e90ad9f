//! JUnit XML: a suite a file that has findings, a case a finding.

use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesEnd, BytesStart, BytesText, Event};

use super::super::summary_line;
use super::{Run, Told, told};
use crate::judge::Verdict;

/// Findings that fail the run are failures; milder, answered and accepted ones are skipped cases that say why, so that the pipeline and the exit
/// status agree. The first suite holds one case for the check itself, so that a book with nothing to tell is not an empty report.
pub fn junit(verdict: &Verdict, run: &Run) -> String {
    let told = told(verdict, run.show_answered);
    let mut files: Vec<(&str, Vec<&Told>)> = Vec::new();
    for one in &told {
        let path = one.finding.place.file.path.as_str();
        match files.iter_mut().find(|(file, _)| *file == path) {
            Some((_, of_file)) => of_file.push(one),
            None => files.push((path, vec![one])),
        }
    }
    files.sort_by_key(|(path, _)| *path);
    let mut writer = Writer::new_with_indent(Vec::new(), b' ', 2);
    // Writing into memory does not fail.
    let _ = write(&mut writer, verdict, run, &files);
    let mut text = String::from_utf8_lossy(&writer.into_inner()).into_owned();
    text.push('\n');
    text
}

fn write(writer: &mut Writer<Vec<u8>>, verdict: &Verdict, run: &Run, files: &[(&str, Vec<&Told>)]) -> std::io::Result<()> {
    writer.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
    writer.write_event(Event::Start(BytesStart::new("testsuites")))?;
    suite(writer, "ampledger check", 1, 0, 0)?;
    case(writer, "the book is read", "ampledger")?;
    writer.write_event(Event::Start(BytesStart::new("system-out")))?;
    writer.write_event(Event::Text(BytesText::new(&summary_line(&verdict.summary))))?;
    close(writer, &["system-out", "testcase", "testsuite"])?;
    for (path, of_file) in files {
        let failed = of_file.iter().filter(|told| fails(told, run)).count();
        let name = super::flat(&format!("{}{path}", run.prefix));
        suite(writer, &name, of_file.len(), failed, of_file.len() - failed)?;
        for told in of_file {
            write_case(writer, told, run, &name)?;
        }
        close(writer, &["testsuite"])?;
    }
    close(writer, &["testsuites"])
}

fn fails(told: &Told, run: &Run) -> bool {
    told.quiet.is_none() && run.fails(told.finding.grade)
}

fn write_case(writer: &mut Writer<Vec<u8>>, told: &Told, run: &Run, file: &str) -> std::io::Result<()> {
    let finding = told.finding;
    let at = told.spot().start;
    let subject = if finding.subject.is_empty() { String::new() } else { format!(" {}", super::flat(&finding.subject)) };
    case(writer, &format!("{}{subject} line {}", finding.rule, at.line), file)?;
    let outcome = if fails(told, run) { "failure" } else { "skipped" };
    let message = told.reason().unwrap_or_else(|| format!("{}: {}", finding.grade, told.text()));
    let mut element = BytesStart::new(outcome);
    element.push_attribute(("message", message.as_str()));
    element.push_attribute(("type", finding.grade.as_str()));
    writer.write_event(Event::Start(element))?;
    let text = format!("{file}:{}:{}: {}\n{}", at.line, at.column, told.text(), told.advice());
    writer.write_event(Event::Text(BytesText::new(text.trim_end())))?;
    close(writer, &[outcome, "testcase"])
}

fn suite(writer: &mut Writer<Vec<u8>>, name: &str, tests: usize, failures: usize, skipped: usize) -> std::io::Result<()> {
    let counts =
        [("tests", tests), ("failures", failures), ("errors", 0), ("skipped", skipped)].map(|(key, count)| (key, count.to_string()));
    let mut element = BytesStart::new("testsuite");
    element.push_attribute(("name", name));
    for (key, count) in &counts {
        element.push_attribute((*key, count.as_str()));
    }
    writer.write_event(Event::Start(element))
}

fn case(writer: &mut Writer<Vec<u8>>, name: &str, class: &str) -> std::io::Result<()> {
    let mut element = BytesStart::new("testcase");
    element.push_attribute(("name", name));
    element.push_attribute(("classname", class));
    writer.write_event(Event::Start(element))
}

fn close(writer: &mut Writer<Vec<u8>>, elements: &[&'static str]) -> std::io::Result<()> {
    elements.iter().try_for_each(|name| writer.write_event(Event::End(BytesEnd::new(*name))))
}
