//! As much of the W3C WebDriver protocol as these tests speak, over plain HTTP, with the protocol's own extension for Chromium where size,
//! colours and paper are to be pretended.

use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};
use serde_json::{Value, json};

/// A browser without a window, and the driver that steers it; both end with this.
pub struct Browser {
    driver: Child,
    agent: ureq::Agent,
    session: String,
    _profile: tempfile::TempDir,
}

/// What may stand in an address as it is.
const PATH: &AsciiSet = &NON_ALPHANUMERIC.remove(b'/').remove(b'.').remove(b'-').remove(b'_');

/// The driver's name.
const DRIVER: &str = "chromedriver";

impl Browser {
    /// A browser, where the machine has one with its driver. Without one the test is left out with a word, unless NEED_BROWSER is set, as
    /// it is where every change is checked.
    pub fn start(test: &str) -> Option<Browser> {
        let path = std::env::var_os("PATH");
        let program = ampledger::browser::find(None, path.as_deref());
        let driver = ampledger::browser::find(Some(Path::new(DRIVER)), path.as_deref());
        match (program, driver) {
            (Ok(program), Ok(driver)) => Some(Browser::begin(&program, &driver)),
            _ => {
                assert!(std::env::var_os("NEED_BROWSER").is_none(), "{test}: no chromium with {DRIVER} on this machine");
                eprintln!("left out: {test}; it needs chromium and {DRIVER}");
                None
            }
        }
    }

    fn begin(program: &Path, driver: &Path) -> Browser {
        let profile = tempfile::tempdir().unwrap();
        let mut driver = Command::new(driver).arg("--port=0").stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap();
        let lines = BufReader::new(driver.stdout.take().unwrap()).lines();
        // "ChromeDriver was started successfully on port 41173."
        let port = lines.map(Result::unwrap).find_map(|line| {
            let port = line.strip_suffix('.')?.rsplit(' ').next()?;
            line.contains("started successfully").then(|| port.parse::<u16>().ok()).flatten()
        });
        let base = format!("http://127.0.0.1:{}", port.expect("the driver says which port it listens on"));
        let mut args = vec![
            "--headless".to_owned(),
            "--disable-gpu".to_owned(),
            // Their width is the machine's and not the page's.
            "--hide-scrollbars".to_owned(),
            "--disable-quic".to_owned(),
            "--no-first-run".to_owned(),
            "--disable-background-networking".to_owned(),
            "--disable-component-update".to_owned(),
            "--disable-sync".to_owned(),
            format!("--user-data-dir={}", profile.path().display()),
        ];
        #[cfg(unix)]
        if std::os::unix::fs::MetadataExt::uid(&std::fs::metadata(profile.path()).unwrap()) == 0 {
            // A browser refuses its sandbox to root.
            args.push("--no-sandbox".to_owned());
        }
        let wanted = json!({"capabilities": {"alwaysMatch": {
            "browserName": "chrome",
            "goog:chromeOptions": {"binary": program, "args": args},
            "goog:loggingPrefs": {"browser": "ALL"},
        }}});
        let agent =
            ureq::Agent::config_builder().timeout_global(Some(Duration::from_secs(120))).http_status_as_error(false).build().new_agent();
        let mut browser = Browser { driver, agent, session: format!("{base}/session"), _profile: profile };
        let answer = browser.post("", &wanted);
        browser.session = format!("{base}/session/{}", answer["sessionId"].as_str().unwrap());
        browser
    }

    fn post(&self, command: &str, body: &Value) -> Value {
        let mut answer = self.agent.post(format!("{}{command}", self.session)).send_json(body).unwrap();
        let mut answer: Value = answer.body_mut().read_json().unwrap();
        assert!(answer["value"].get("error").is_none(), "{command}: {answer}");
        answer["value"].take()
    }

    /// Opens a file, as somebody does who has no server.
    pub fn open(&self, file: &Path) {
        let real: PathBuf = file.canonicalize().unwrap();
        let address = utf8_percent_encode(real.to_str().unwrap(), PATH);
        self.post("/url", &json!({"url": format!("file://{address}")}));
    }

    /// What a function's body returns, run in the page.
    pub fn ask(&self, body: &str) -> Value {
        self.post("/execute/sync", &json!({"script": body, "args": []}))
    }

    /// The same for one that answers later, by calling its last argument.
    pub fn ask_later(&self, body: &str) -> Value {
        self.post("/execute/async", &json!({"script": body, "args": []}))
    }

    /// What the page has complained of since it was last asked.
    pub fn complaints(&self) -> Vec<String> {
        let log = self.post("/se/log", &json!({"type": "browser"}));
        log.as_array().unwrap().iter().map(|entry| entry["message"].as_str().unwrap().to_owned()).collect()
    }

    fn pretend(&self, command: &str, params: &Value) {
        self.post("/goog/cdp/execute", &json!({"cmd": command, "params": params}));
    }

    /// A screen of that width, pixels.
    pub fn wide(&self, width: u32) {
        self.pretend(
            "Emulation.setDeviceMetricsOverride",
            &json!({"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": false}),
        );
    }

    /// Paper or screen, and the colours that the reader prefers.
    pub fn media(&self, media: &str, scheme: &str) {
        let features = json!([{"name": "prefers-color-scheme", "value": scheme}]);
        self.pretend("Emulation.setEmulatedMedia", &json!({"media": media, "features": features}));
    }
}

/// Widths of a telephone and of a desktop, and of the printed part of an A4 page upright and on its side, with the medium and whether
/// what is printed on its side is looked at.
const WIDTHS: [(u32, &str, bool); 4] = [(375, "screen", true), (1280, "screen", true), (688, "print", false), (1001, "print", true)];

impl Browser {
    /// Whether the page that is open fits each width, with nothing that reaches beyond it but what may be scrolled by itself.
    pub fn assert_fits(&self, page: &str) {
        for (width, media, lies) in WIDTHS {
            self.wide(width);
            self.media(media, "light");
            self.ask(&format!("document.querySelectorAll('section.wide').forEach(e => e.style.display = {lies} ? '' : 'none')"));
            let found = self.ask(
                "const wide = document.documentElement.clientWidth;
                 const culprits = [...document.querySelectorAll('body *')].filter(e => !(!matchMedia('print').matches && e.closest('.scroll')) && !e.matches('.skip, .unseen')
                     && e.getBoundingClientRect().right > wide + 0.5).map(e => e.tagName + '.' + e.className + ' ' + e.textContent.slice(0, 60));
                 return {wide, needs: document.documentElement.scrollWidth, culprits};",
            );
            assert_eq!(found["wide"], width, "{page}");
            assert!(found["needs"] == found["wide"] && found["culprits"] == json!([]), "{page} at {width}, {media}: {found}");
        }
        self.media("screen", "light");
    }

    /// The accessibility checker axe-core, whose script `AXE_JS` names; without it the test is left out with a word.
    pub fn axe(test: &str) -> Option<String> {
        let Ok(axe) = std::env::var("AXE_JS") else {
            assert!(std::env::var_os("NEED_BROWSER").is_none(), "AXE_JS does not name axe.min.js of the npm package axe-core");
            eprintln!("left out: {test}; AXE_JS does not name axe.min.js of the npm package axe-core");
            return None;
        };
        Some(std::fs::read_to_string(&axe).unwrap_or_else(|error| panic!("{axe}: {error}")))
    }

    /// Whether the checker finds nothing serious in the page that is open.
    pub fn assert_accessible(&self, axe: &str, page: &str) {
        self.ask(&format!("{axe}; return typeof axe"));
        let found = self.ask_later(
            "const done = arguments[arguments.length - 1];
             axe.run(document, {resultTypes: ['violations']}).then(result => done({passes: result.passes.length, violations:
                 result.violations.map(v => ({id: v.id, impact: v.impact, nodes: v.nodes.map(n => n.target.join(' ') + ': ' + n.failureSummary).slice(0, 3)}))}));",
        );
        let violations = found["violations"].as_array().unwrap().iter();
        let serious: Vec<&Value> = violations.filter(|one| one["impact"] == "serious" || one["impact"] == "critical").collect();
        assert!(serious.is_empty(), "{page}: {serious:#?}");
        assert!(found["passes"].as_u64().unwrap() > 10, "{page}: the checker looked at nothing: {found}");
    }

    /// Opens a hostile page and looks whether any text of it came alive: a script that ran, a handler, a box, an address that was asked
    /// for. What the texts of the tests call is `alert`: while its box is open, the driver refuses every question.
    pub fn assert_nothing_lives(&self, file: &Path) {
        self.open(file);
        let found = self.ask(
            "const handlers = [...document.querySelectorAll('*')].flatMap(e => e.getAttributeNames().filter(name => name.startsWith('on')).map(name => e.tagName + '.' + name));
             const asked = performance.getEntriesByType('resource').map(entry => entry.name).filter(name => !name.startsWith('file:') && !name.startsWith('data:'));
             const led = [...document.querySelectorAll('[href], [src]')].map(e => e.getAttribute('href') || e.getAttribute('src')).filter(to => /^\\s*(javascript|vbscript):/i.test(to));
             return {handlers, asked, led};",
        );
        let page = file.display();
        assert_eq!(found["handlers"], json!([]), "{page}");
        assert_eq!(found["asked"], json!([]), "{page}");
        assert_eq!(found["led"], json!([]), "{page}");
        assert_eq!(self.complaints(), Vec::<String>::new(), "{page}");
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        let _ = self.agent.delete(&self.session).call();
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}
