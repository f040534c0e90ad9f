//! What the server knows between two messages: the open documents, the books they belong to, and what the editor has been told.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use gen_lsp_types::{self as lsp, LspNotificationMethod, LspRequestMethod, Notification as _, Request as _};
use lsp_server::{ErrorCode, Message};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};

use super::desk::{Desk, site_id};
use super::diagnostics::Teller;
use super::page::Page;
use super::text::{Encoding, Lines};
use super::{actions, completion, definition, hints, hover, symbols, uri};
use crate::book::{Book, SETTINGS_FILE};
use crate::record::Date;

/// How far the conversation is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// `initialize` has not come yet.
    New,
    /// Serving.
    Serving,
    /// `shutdown` has come.
    ShutDown,
}

/// An open document.
struct Document {
    text: Arc<str>,
    version: i32,
    /// The book it belongs to and its path there.
    home: Option<(PathBuf, String)>,
}

/// Why a request gets no result.
pub type Refusal = (ErrorCode, String);

/// The state of a conversation.
pub struct Session<'a> {
    today: &'a dyn Fn() -> Date,
    stage: Stage,
    encoding: Encoding,
    watches: bool,
    documents: BTreeMap<String, Document>,
    desks: BTreeMap<PathBuf, Desk>,
    /// The diagnostics that the editor shows, by URI.
    shown: BTreeMap<String, Vec<lsp::Diagnostic>>,
    outgoing: Vec<Message>,
}

impl<'a> Session<'a> {
    /// A conversation that has not begun.
    pub fn new(today: &'a dyn Fn() -> Date) -> Self {
        Session {
            today,
            stage: Stage::New,
            encoding: Encoding::default(),
            watches: false,
            documents: BTreeMap::new(),
            desks: BTreeMap::new(),
            shown: BTreeMap::new(),
            outgoing: Vec::new(),
        }
    }

    /// How far the conversation is.
    pub fn stage(&self) -> Stage {
        self.stage
    }

    /// Takes what is to be sent.
    pub fn outgoing(&mut self) -> Vec<Message> {
        std::mem::take(&mut self.outgoing)
    }

    /// Whether something has changed that was not looked at yet.
    pub fn has_news(&self) -> bool {
        self.desks.values().any(Desk::has_news)
    }

    /// Whether something is left to be checked.
    pub fn has_work(&self) -> bool {
        self.desks.values().any(|desk| !desk.is_settled())
    }

    /// Answers a request.
    pub fn answer(&mut self, method: &str, params: Value) -> Result<Value, Refusal> {
        match (self.stage, method) {
            (Stage::New, "initialize") => return self.initialize(params),
            (Stage::New, _) => return Err((ErrorCode::ServerNotInitialized, "the first request is initialize".to_owned())),
            (Stage::Serving, "initialize") => return Err((ErrorCode::InvalidRequest, "initialize has come before".to_owned())),
            (Stage::Serving, "shutdown") => {
                self.stage = Stage::ShutDown;
                return Ok(Value::Null);
            }
            (Stage::ShutDown, _) => return Err((ErrorCode::InvalidRequest, "the server is shut down".to_owned())),
            (Stage::Serving, _) => {}
        }
        self.catch_up();
        match LspRequestMethod::from(method) {
            LspRequestMethod::TextDocumentHover => self.at(params, hover::hover),
            LspRequestMethod::TextDocumentCompletion => self.at(params, completion::complete),
            LspRequestMethod::TextDocumentDefinition => self.at(params, definition::definition),
            LspRequestMethod::TextDocumentReferences => self.at(params, definition::references),
            LspRequestMethod::TextDocumentDocumentSymbol => {
                let params: lsp::DocumentSymbolParams = decoded(params)?;
                Ok(self.on_page(&params.text_document.uri, |page| json!(symbols::symbols(page))))
            }
            LspRequestMethod::TextDocumentInlayHint => {
                let params: lsp::InlayHintParams = decoded(params)?;
                Ok(self.on_page(&params.text_document.uri, |page| json!(hints::hints(page, page.lines.span(params.range)))))
            }
            LspRequestMethod::TextDocumentCodeAction => {
                let params: lsp::CodeActionParams = decoded(params)?;
                self.check_around(&params.text_document.uri);
                Ok(self.on_page(&params.text_document.uri, |page| json!(actions::actions(page, page.lines.span(params.range)))))
            }
            _ => Err((ErrorCode::MethodNotFound, format!("{method} is not served"))),
        }
    }

    /// Answers a request about a place in a document.
    fn at<T: Serialize>(&self, params: Value, answer: impl Fn(&Page<'_>, usize) -> T) -> Result<Value, Refusal> {
        let place: lsp::TextDocumentPositionParams = decoded(params)?;
        Ok(self.on_page(&place.text_document.uri, |page| json!(answer(page, page.lines.offset(place.position)))))
    }

    /// Answers from an open document; `null` for one that is none of a book's.
    fn on_page(&self, uri: &lsp::Uri, answer: impl Fn(&Page<'_>) -> Value) -> Value {
        let Some(document) = self.documents.get(&uri.0) else { return Value::Null };
        let Some((root, path)) = &document.home else { return Value::Null };
        let Some(desk) = self.desks.get(root) else { return Value::Null };
        let uri_of = |path: &str| self.uri_of(root, path);
        answer(&Page::new(desk, path, &document.text, Lines::of(&document.text, self.encoding), self.encoding, &uri_of))
    }

    /// The URI of a file of a book: the one under which the editor has opened it, where it has.
    fn uri_of(&self, root: &Path, path: &str) -> lsp::Uri {
        let is_it = |document: &Document| document.home.as_ref().is_some_and(|(book, file)| book == root && file == path);
        let open = self.documents.iter().find(|(_, document)| is_it(document));
        open.map_or_else(|| uri::of_path(&root.join(path)), |(uri, _)| lsp::Uri(uri.clone()))
    }

    fn initialize(&mut self, params: Value) -> Result<Value, Refusal> {
        // An editor that words some capability in its own way is served all the same.
        let folders = params.get("workspaceFolders").and_then(Value::as_array).into_iter().flatten();
        let mut folders: Vec<lsp::Uri> = folders.filter_map(|folder| folder.get("uri")?.as_str().map(lsp::Uri::from)).collect();
        if folders.is_empty() {
            folders.extend(params.get("rootUri").and_then(Value::as_str).map(lsp::Uri::from));
        }
        let offered = params.pointer("/capabilities/general/positionEncodings").cloned().unwrap_or_default();
        self.encoding = Encoding::choose(&serde_json::from_value::<Vec<lsp::PositionEncodingKind>>(offered).unwrap_or_default());
        let watches = params.pointer("/capabilities/workspace/didChangeWatchedFiles/dynamicRegistration");
        self.watches = watches == Some(&Value::Bool(true));
        self.stage = Stage::Serving;
        folders.iter().for_each(|folder| self.open_folder(folder));
        let capabilities = lsp::ServerCapabilities {
            position_encoding: Some(self.encoding.kind()),
            text_document_sync: Some(lsp::TextDocumentSync::Options(lsp::TextDocumentSyncOptions {
                open_close: Some(true),
                change: Some(lsp::TextDocumentSyncKind::Full),
                save: Some(true.into()),
                ..Default::default()
            })),
            hover_provider: Some(true.into()),
            completion_provider: Some(lsp::CompletionOptions {
                trigger_characters: Some([" ", "/", "{", "[", ","].map(str::to_owned).to_vec()),
                ..Default::default()
            }),
            definition_provider: Some(true.into()),
            references_provider: Some(true.into()),
            document_symbol_provider: Some(true.into()),
            inlay_hint_provider: Some(true.into()),
            code_action_provider: Some(true.into()),
            workspace: Some(lsp::WorkspaceOptions {
                workspace_folders: Some(lsp::WorkspaceFoldersServerCapabilities {
                    supported: Some(true),
                    change_notifications: Some(true.into()),
                }),
                ..Default::default()
            }),
            ..Default::default()
        };
        let info = lsp::ServerInfo { name: "ampledger".to_owned(), version: Some(env!("CARGO_PKG_VERSION").to_owned()) };
        Ok(json!(lsp::InitializeResult { capabilities, server_info: Some(info) }))
    }

    /// Looks for a book in a workspace folder, and says once where there is none.
    fn open_folder(&mut self, folder: &lsp::Uri) {
        let Some(path) = uri::to_path(folder) else { return };
        match Book::find_root(&path) {
            Ok(root) => self.open_book(&root),
            Err(error) => self.log(lsp::MessageType::Info, &format!("{error}: books in folders below are found when a record is opened")),
        }
    }

    fn open_book(&mut self, root: &Path) {
        if self.desks.contains_key(root) {
            return;
        }
        match Desk::open(root, (self.today)()) {
            Ok(desk) => {
                self.desks.insert(root.to_owned(), desk);
            }
            Err(error) => self.log(lsp::MessageType::Warning, &error.to_string()),
        }
    }

    fn log(&mut self, kind: lsp::MessageType, message: &str) {
        self.tell::<lsp::LogMessageNotification>(lsp::LogMessageParams { kind, message: message.to_owned() });
    }

    fn tell<N: lsp::Notification>(&mut self, params: N::Params) {
        self.outgoing.push(lsp_server::Notification::new(N::METHOD.as_str().to_owned(), params).into());
    }

    /// Takes a notification; what cannot be read of one is left.
    pub fn take(&mut self, method: &str, params: Value) {
        if self.stage != Stage::Serving {
            return;
        }
        match LspNotificationMethod::from(method) {
            LspNotificationMethod::Initialized => self.watch_files(),
            LspNotificationMethod::TextDocumentDidOpen => {
                if let Ok(lsp::DidOpenTextDocumentParams { text_document: item }) = decoded(params) {
                    self.open(item.uri, item.version, item.text);
                }
            }
            LspNotificationMethod::TextDocumentDidChange => {
                if let Ok(params) = decoded(params) {
                    self.change(params);
                }
            }
            LspNotificationMethod::TextDocumentDidClose => {
                if let Ok(lsp::DidCloseTextDocumentParams { text_document }) = decoded(params) {
                    self.close(&text_document.uri);
                }
            }
            LspNotificationMethod::TextDocumentDidSave => {
                if let Ok(lsp::DidSaveTextDocumentParams { text_document, .. }) = decoded(params) {
                    self.note_changes(&[text_document.uri]);
                }
            }
            LspNotificationMethod::WorkspaceDidChangeWatchedFiles => {
                if let Ok(lsp::DidChangeWatchedFilesParams { changes }) = decoded(params) {
                    self.note_changes(&changes.into_iter().map(|change| change.uri).collect::<Vec<_>>());
                }
            }
            LspNotificationMethod::WorkspaceDidChangeWorkspaceFolders => {
                if let Ok(lsp::DidChangeWorkspaceFoldersParams { event }) = decoded(params) {
                    event.added.iter().for_each(|folder| self.open_folder(&folder.uri));
                }
            }
            _ => {}
        }
    }

    /// Asks to be told of files that change on the disk, where the editor can.
    fn watch_files(&mut self) {
        if !self.watches {
            return;
        }
        let watchers: Vec<Value> = ["**/*.md", "**/*.yaml"].iter().map(|pattern| json!({"globPattern": pattern})).collect();
        let method = lsp::DidChangeWatchedFilesNotification::METHOD;
        let registration = json!({"id": "files", "method": method.as_str(), "registerOptions": {"watchers": watchers}});
        let params = json!({"registrations": [registration]});
        let method = lsp::RegistrationRequest::METHOD.as_str().to_owned();
        self.outgoing.push(lsp_server::Request::new(1.into(), method, params).into());
    }

    fn open(&mut self, uri: lsp::Uri, version: i32, text: String) {
        let home = self.home_of(&uri);
        let text: Arc<str> = text.into();
        if let Some((root, path)) = &home
            && let Some(desk) = self.desks.get_mut(root)
        {
            desk.put(path, Some(text.clone()));
        }
        self.documents.insert(uri.0, Document { text, version, home });
    }

    /// The book that a document belongs to, put on the desk; nothing for a document outside any, or among the private ones.
    fn home_of(&mut self, uri: &lsp::Uri) -> Option<(PathBuf, String)> {
        let path = uri::real(&uri::to_path(uri)?);
        let there = path.ancestors().find(|folder| folder.is_dir())?;
        let root = Book::find_root(there).ok()?;
        self.open_book(&root);
        let inner = path.strip_prefix(&root).ok()?;
        let inner: Vec<_> = inner.components().map(|part| part.as_os_str().to_string_lossy()).collect();
        let inner = inner.join("/");
        Desk::takes(&inner).then_some((root, inner))
    }

    fn change(&mut self, params: lsp::DidChangeTextDocumentParams) {
        let id = params.text_document;
        let Some(document) = self.documents.get_mut(&id.text_document_identifier.uri.0) else { return };
        for change in params.content_changes {
            document.text = match change {
                lsp::TextDocumentContentChangeEvent::TextDocumentContentChangeWholeDocument(whole) => whole.text.into(),
                // Whole texts are asked for; an editor that sends parts of them is understood all the same.
                lsp::TextDocumentContentChangeEvent::TextDocumentContentChangePartial(part) => {
                    let mut text = document.text.to_string();
                    text.replace_range(Lines::of(&document.text, self.encoding).span(part.range), &part.text);
                    text.into()
                }
            };
        }
        document.version = id.version;
        if let Some((root, path)) = &document.home
            && let Some(desk) = self.desks.get_mut(root)
        {
            desk.put(path, Some(document.text.clone()));
        }
    }

    fn close(&mut self, uri: &lsp::Uri) {
        let Some(document) = self.documents.remove(&uri.0) else { return };
        if let Some((root, path)) = &document.home
            && let Some(desk) = self.desks.get_mut(root)
        {
            desk.put(path, None);
        }
    }

    fn note_changes(&mut self, uris: &[lsp::Uri]) {
        if uris.iter().any(|uri| uri.0.ends_with(SETTINGS_FILE)) {
            self.house();
        }
        for path in uris.iter().filter_map(uri::to_path).map(|path| uri::real(&path)) {
            for (root, desk) in &mut self.desks {
                if let Ok(inner) = path.strip_prefix(root) {
                    let inner: Vec<_> = inner.components().map(|part| part.as_os_str().to_string_lossy()).collect();
                    desk.note_change(&inner.join("/"));
                }
            }
        }
    }

    /// Looks for the books of documents that have none: one may have begun or come back since they were opened.
    fn house(&mut self) {
        let is_homeless = |document: &Document| document.home.as_ref().is_none_or(|(root, _)| !self.desks.contains_key(root));
        let homeless: Vec<String> =
            self.documents.iter().filter(|(_, document)| is_homeless(document)).map(|(uri, _)| uri.clone()).collect();
        for uri in homeless {
            if let Some(document) = self.documents.remove(&uri) {
                self.open(lsp::Uri(uri), document.version, document.text.to_string());
            }
        }
    }

    /// Lays what has come in over the books. A book that has gone is taken off the desk.
    fn catch_up(&mut self) {
        let today = (self.today)();
        let mut gone = Vec::new();
        for (root, desk) in self.desks.iter_mut().filter(|(_, desk)| desk.has_news() || desk.today() != today) {
            if let Err(error) = desk.catch_up(today) {
                gone.push((root.clone(), error.to_string()));
            }
        }
        for (root, why) in gone {
            self.desks.remove(&root);
            self.log(lsp::MessageType::Warning, &why);
            self.publish(&root);
        }
    }

    /// Checks the site of a document, so that an answer speaks of the text as it stands.
    fn check_around(&mut self, uri: &lsp::Uri) {
        let Some((root, path)) = self.documents.get(&uri.0).and_then(|document| document.home.clone()) else { return };
        if let (Some(desk), Some(id)) = (self.desks.get_mut(&root), site_id(&path)) {
            desk.check_sites(&BTreeSet::from([id.to_owned()]));
        }
    }

    /// Checks a little: the sites of open documents, or when they are done a few others.
    pub fn work(&mut self) {
        self.catch_up();
        let roots: Vec<PathBuf> = self.desks.keys().cloned().collect();
        for root in roots {
            let sites = self.open_sites(&root);
            let has_register_open = self.open_paths(&root).any(|path| site_id(path).is_none());
            let Some(desk) = self.desks.get_mut(&root) else { continue };
            let has_renewed = has_register_open && desk.check_new_registers();
            let has_checked = desk.check_sites(&sites) || has_renewed;
            let is_last = !has_checked && desk.check_some() && desk.is_settled();
            if is_last || has_renewed {
                desk.judge_registers();
            }
            if has_checked || is_last {
                self.publish(&root);
            }
        }
    }

    fn open_paths<'s>(&'s self, root: &'s Path) -> impl Iterator<Item = &'s str> {
        let homes = self.documents.values().filter_map(|document| document.home.as_ref());
        homes.filter(move |(book, _)| book == root).map(|(_, path)| path.as_str())
    }

    fn open_sites(&self, root: &Path) -> BTreeSet<String> {
        self.open_paths(root).filter_map(site_id).map(str::to_owned).collect()
    }

    /// Tells the editor what stands in the open documents of a book, in the other files of their sites and in the registers, where that
    /// is not what it shows already.
    fn publish(&mut self, root: &Path) {
        let mut wanted: BTreeMap<String, Vec<lsp::Diagnostic>> = BTreeMap::new();
        let prefix = format!("{}/", uri::of_path(root).0);
        let of_book = |uri: &str, documents: &BTreeMap<String, Document>| {
            let home = documents.get(uri).and_then(|document| document.home.as_ref());
            home.map_or_else(|| uri.starts_with(&prefix), |(book, _)| book == root)
        };
        let uri_of = |path: &str| self.uri_of(root, path);
        if let Some(desk) = self.desks.get(root) {
            let verdicts: Vec<_> = self.open_sites(root).iter().map(|id| desk.verdict_of(id)).collect();
            let has_open = self.open_paths(root).next().is_some();
            let outside = if has_open { desk.standing() } else { &[] };
            let mut teller = Teller::new(self.encoding, &uri_of);
            for finding in verdicts.iter().flat_map(|verdict| &verdict.findings).chain(outside) {
                wanted.entry(uri_of(&finding.place.file.path).0).or_default().push(teller.diagnostic(finding));
            }
        }
        for uri in self.documents.keys().chain(self.shown.keys()).filter(|uri| of_book(uri, &self.documents)) {
            wanted.entry(uri.clone()).or_default();
        }
        for (uri, diagnostics) in wanted {
            let shown = self.shown.get(&uri);
            let document = self.documents.get(&uri);
            if shown == Some(&diagnostics) || (shown.is_none() && document.is_none() && diagnostics.is_empty()) {
                continue;
            }
            let version = document.map(|document| document.version);
            let params = lsp::PublishDiagnosticsParams { uri: lsp::Uri(uri.clone()), version, diagnostics: diagnostics.clone() };
            self.tell::<lsp::PublishDiagnosticsNotification>(params);
            if diagnostics.is_empty() && !self.documents.contains_key(&uri) {
                self.shown.remove(&uri);
            } else {
                self.shown.insert(uri, diagnostics);
            }
        }
    }
}

fn decoded<T: DeserializeOwned>(params: Value) -> Result<T, Refusal> {
    // What was sent is not repeated: it may be a record.
    serde_json::from_value(params).map_err(|_| (ErrorCode::InvalidParams, "the parameters are not those of this request".to_owned()))
}
