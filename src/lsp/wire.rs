//! Messages in and out: `Content-Length` framing over two streams.

use std::io::{self, BufRead, Read, Write};
use std::sync::mpsc::{Receiver, channel};

use lsp_server::Message;

/// A message larger than any record, with room for what an editor wraps around it; a longer one is refused before memory is taken for it.
const MAX_BYTES: usize = 64 * 1024 * 1024;
/// A header line longer than this is no header.
const MAX_HEADER: u64 = 4096;

/// What came in.
pub enum Came {
    /// A message.
    Message(Message),
    /// Something that is no message. Nothing after it can be trusted.
    Malformed(&'static str),
}

/// Reads messages on a thread of its own, so that the loop can wait for them with a limit. The channel closes with the stream.
pub fn listen(mut input: impl BufRead + Send + 'static) -> io::Result<Receiver<Came>> {
    let (sender, receiver) = channel();
    std::thread::Builder::new().name("messages in".to_owned()).spawn(move || {
        loop {
            let came = match read(&mut input) {
                Ok(Some(message)) => Came::Message(message),
                Ok(None) => return,
                Err(why) => Came::Malformed(why),
            };
            let is_last = matches!(&came, Came::Malformed(_)) || is_exit(&came);
            if sender.send(came).is_err() || is_last {
                return;
            }
        }
    })?;
    Ok(receiver)
}

fn is_exit(came: &Came) -> bool {
    matches!(came, Came::Message(Message::Notification(told)) if told.method == "exit")
}

/// Reads one message; nothing at the end of the stream.
fn read(input: &mut impl BufRead) -> Result<Option<Message>, &'static str> {
    let mut length: Option<usize> = None;
    let mut has_begun = false;
    loop {
        let mut line = Vec::new();
        input.by_ref().take(MAX_HEADER).read_until(b'\n', &mut line).map_err(|_| "the input cannot be read")?;
        if line.is_empty() {
            return if has_begun { Err("the input ends within a header") } else { Ok(None) };
        }
        has_begun = true;
        let line = line.strip_suffix(b"\n").ok_or("a header line without an end")?;
        let line = line.strip_suffix(b"\r").unwrap_or(line);
        if line.is_empty() {
            break;
        }
        let line = std::str::from_utf8(line).map_err(|_| "a header that is not text")?;
        let (name, value) = line.split_once(':').ok_or("a header without a colon")?;
        if name.trim().eq_ignore_ascii_case("content-length") {
            length = Some(value.trim().parse().map_err(|_| "a Content-Length that is no number")?);
        }
    }
    let length = length.ok_or("a message without Content-Length")?;
    if length > MAX_BYTES {
        return Err("a message of more than 64 MB");
    }
    let mut bytes = Vec::new();
    input.by_ref().take(length as u64).read_to_end(&mut bytes).map_err(|_| "the input cannot be read")?;
    if bytes.len() < length {
        return Err("the input ends within a message");
    }
    // What stands in it is not repeated: it may be a record.
    serde_json::from_slice(&bytes).map(Some).map_err(|_| "a message that is no JSON-RPC")
}

/// Writes one message.
pub fn write(output: &mut impl Write, message: Message) -> io::Result<()> {
    message.write(output)
}
