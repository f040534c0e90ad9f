//! A language server: what `check` says while somebody types, and the book's knowledge at the cursor.
//!
//! One loop, one thread for what comes in. A message is answered at once; between messages the sites that want it are checked, those of
//! open files first. [`Desk`] keeps the book with the buffers over it; each capability is a file of pure functions from a [`Page`] and
//! a place on it to an answer.

mod actions;
mod completion;
mod cursor;
mod definition;
mod desk;
mod diagnostics;
mod hints;
mod hover;
mod keys;
mod page;
mod session;
mod symbols;
mod text;
pub(crate) mod uri;
mod wire;

use std::collections::VecDeque;
use std::io::{self, BufRead, Write};
use std::sync::mpsc::{Receiver, RecvTimeoutError, TryRecvError};
use std::time::Duration;

use lsp_server::{ErrorCode, Message, Request, Response};

use crate::record::Date;
use wire::Came;

pub use desk::Desk;
pub use page::Page;
pub use session::{Refusal, Session, Stage};

/// How long nothing more has to come in before a change is checked: keys held down are not checked one by one.
const PAUSE: Duration = Duration::from_millis(10);
/// Changes after which a check is made even when they do not pause.
const MOST_DEFERRED: u32 = 50;

/// How the server ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// As the protocol wants it: `shutdown`, then `exit`.
    Properly,
    /// With `exit` alone, or because the editor has gone.
    Abruptly,
}

/// Why the server had to stop.
#[derive(Debug)]
pub enum Stopped {
    /// What came in is no message.
    Malformed(&'static str),
    /// The streams do not work.
    Stream(io::Error),
}

/// Serves an editor over two streams until it says `exit`. `today` is asked for the day that dates are judged from.
pub fn serve(input: impl BufRead + Send + 'static, output: impl Write, today: &dyn Fn() -> Date) -> Result<Ended, Stopped> {
    let incoming = wire::listen(input).map_err(Stopped::Stream)?;
    let mut server = Server { incoming, queue: VecDeque::new(), output, session: Session::new(today) };
    server.run()
}

struct Server<'a, W> {
    incoming: Receiver<Came>,
    /// What was taken in ahead of its turn, to see what has been cancelled.
    queue: VecDeque<Came>,
    output: W,
    session: Session<'a>,
}

/// What happens next.
enum Next {
    Came(Came),
    Work,
    Gone,
}

impl<W: Write> Server<'_, W> {
    fn run(&mut self) -> Result<Ended, Stopped> {
        let mut deferred = 0;
        loop {
            match self.next(deferred) {
                Next::Gone => return Ok(Ended::Abruptly),
                Next::Came(Came::Malformed(why)) => return Err(Stopped::Malformed(why)),
                Next::Came(Came::Message(Message::Request(request))) => {
                    let response = self.answer(request);
                    self.send(vec![response.into()])?;
                }
                Next::Came(Came::Message(Message::Notification(told))) => {
                    if told.method == "exit" {
                        return Ok(if self.session.stage() == Stage::ShutDown { Ended::Properly } else { Ended::Abruptly });
                    }
                    deferred += 1;
                    self.session.take(&told.method, told.params);
                }
                // Nothing is asked of the editor that its answer would change.
                Next::Came(Came::Message(Message::Response(_))) => {}
                Next::Work => {
                    deferred = 0;
                    self.session.work();
                }
            }
            let messages = self.session.outgoing();
            self.send(messages)?;
        }
    }

    fn next(&mut self, deferred: u32) -> Next {
        if let Some(came) = self.queue.pop_front() {
            return Next::Came(came);
        }
        let has_news = self.session.has_news();
        if has_news && deferred < MOST_DEFERRED {
            return match self.incoming.recv_timeout(PAUSE) {
                Ok(came) => Next::Came(came),
                Err(RecvTimeoutError::Timeout) => Next::Work,
                Err(RecvTimeoutError::Disconnected) => Next::Gone,
            };
        }
        if has_news || self.session.has_work() {
            return match self.incoming.try_recv() {
                Ok(came) if !has_news => Next::Came(came),
                Ok(came) => {
                    self.queue.push_back(came);
                    Next::Work
                }
                Err(TryRecvError::Empty) => Next::Work,
                Err(TryRecvError::Disconnected) => Next::Gone,
            };
        }
        self.incoming.recv().map_or(Next::Gone, Next::Came)
    }

    fn answer(&mut self, request: Request) -> Response {
        self.queue.extend(self.incoming.try_iter());
        let is_cancelled = self.queue.iter().any(|came| {
            matches!(came, Came::Message(Message::Notification(told)) if told.method == "$/cancelRequest"
                && told.params.get("id").is_some_and(|id| serde_json::to_value(&request.id).is_ok_and(|own| own == *id)))
        });
        if is_cancelled {
            return Response::new_err(request.id, ErrorCode::RequestCanceled as i32, "cancelled".to_owned());
        }
        match self.session.answer(&request.method, request.params) {
            Ok(result) => Response { id: request.id, response_result: Ok(result) },
            Err((code, message)) => Response::new_err(request.id, code as i32, message),
        }
    }

    fn send(&mut self, messages: Vec<Message>) -> Result<(), Stopped> {
        for message in messages {
            wire::write(&mut self.output, message).map_err(Stopped::Stream)?;
        }
        Ok(())
    }
}
