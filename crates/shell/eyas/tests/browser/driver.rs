//! A browser that tests drive, and a server of pages beside it. Both end with the test.

use std::io::{BufRead as _, BufReader};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use fantoccini::elements::Element;
use fantoccini::wd::WebDriverCompatibleCommand;
use fantoccini::{Client, ClientBuilder, Locator};
use serde_json::{Value, json};
use tempfile::TempDir;
use webdriver::command::{VoidWebDriverExtensionCommand, WebDriverCommand};

/// Longest that anything on a page may take to appear: other tests compute beside.
const PATIENCE: Duration = Duration::from_secs(60);

/// Every page of the demo's aircraft that can be read without doing anything first.
pub(crate) const PAGES: &[(&str, &str)] = &[
    ("hangar", "/"),
    ("new", "/aircraft/new"),
    ("round", "/aircraft/Wheatear"),
    ("describe", "/aircraft/Wheatear/describe"),
    ("describe-file", "/aircraft/Wheatear/describe/file"),
    ("predict", "/aircraft/Wheatear/predict"),
    ("launch", "/aircraft/Wheatear/launch"),
    ("day", "/aircraft/Wheatear/day"),
    ("ready", "/aircraft/Wheatear/ready"),
    ("card", "/aircraft/Wheatear/card"),
    ("flights", "/aircraft/Wheatear/flights"),
    ("revisions", "/aircraft/Wheatear/describe/revisions"),
    ("card-issued", "/aircraft/Wheatear/card/1"),
    ("recording", "/aircraft/Wheatear/recording/2"),
    ("columns", "/aircraft/Wheatear/recording/2/columns"),
    ("findings", "/aircraft/Wheatear/findings/2"),
    ("evidence", "/aircraft/Wheatear/findings/2/evidence"),
    ("keep", "/aircraft/Wheatear/keep"),
    ("settings", "/aircraft/Wheatear/keep/settings"),
    ("defects", "/aircraft/Wheatear/keep/defects"),
    ("log", "/aircraft/Wheatear/keep/log"),
    ("record", "/aircraft/Wheatear/keep/record"),
    ("words", "/words"),
    ("display", "/display"),
    ("missing", "/no/such/page"),
];

/// A server of pages with a folder of its own.
pub(crate) struct Pages {
    child: Option<Child>,
    pub(crate) address: String,
    pub(crate) folder: TempDir,
}

impl Pages {
    /// Pages of an empty hangar.
    pub(crate) fn empty() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let mut pages = Self { child: None, address: String::new(), folder };
        pages.start(0);
        pages
    }

    /// Pages of the demo's hangar, the round flown to its end.
    pub(crate) fn of_the_demo() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let done = Command::new(env!("CARGO_BIN_EXE_eyas"))
            .args(["demo", "--into"])
            .arg(folder.path().join("demo"))
            .env("EYAS_SECTIONS", "at-hand")
            .output()
            .unwrap();
        assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
        std::fs::copy(folder.path().join("demo/hangar.db"), folder.path().join("hangar.db")).unwrap();
        let mut pages = Self { child: None, address: String::new(), folder };
        pages.start(0);
        pages
    }

    pub(crate) fn hangar(&self) -> PathBuf {
        self.folder.path().join("hangar.db")
    }

    fn start(&mut self, port: u16) {
        let mut child = Command::new(env!("CARGO_BIN_EXE_eyas"))
            .args(["serve", "--json", "--port", &port.to_string(), "--hangar"])
            .arg(self.hangar())
            .env("EYAS_SECTIONS", "at-hand")
            .env("TMPDIR", self.folder.path())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut out = BufReader::new(child.stdout.take().unwrap());
        let mut text = String::new();
        while serde_json::from_str::<Value>(&text).is_err() {
            assert!(out.read_line(&mut text).unwrap() > 0, "the pages did not start: {text}");
        }
        let document: Value = serde_json::from_str(&text).unwrap();
        self.address = document["address"].as_str().unwrap().trim_end_matches('/').to_owned();
        self.child = Some(child);
    }

    /// Kills the server in the middle of whatever it does, and starts it again at the same address.
    pub(crate) fn kill_and_restart(&mut self) {
        let port = self.address.rsplit(':').next().unwrap().parse().unwrap();
        self.kill();
        self.start(port);
    }

    pub(crate) fn kill(&mut self) {
        if let Some(mut child) = self.child.take() {
            child.kill().unwrap();
            child.wait().unwrap();
        }
    }
}

impl Drop for Pages {
    fn drop(&mut self) {
        self.kill();
    }
}

/// How large the window is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Size {
    Desk,
    Phone,
}

impl Size {
    pub(crate) fn pixels(self) -> (u32, u32) {
        match self {
            Self::Desk => (1440, 900),
            Self::Phone => (360, 740),
        }
    }

    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Desk => "desk",
            Self::Phone => "phone",
        }
    }
}

/// A browser.
pub(crate) struct Browser {
    pub(crate) client: Client,
    driver: Child,
    pub(crate) size: Size,
    address: String,
}

/// Commands of the standard, and no others.
type Standard = WebDriverCommand<VoidWebDriverExtensionCommand>;

/// A command of the browser's own protocol.
#[derive(Debug)]
struct Own {
    end: &'static str,
    body: Value,
}

impl Own {
    fn new(end: &'static str, body: Value) -> Self {
        Self { end, body }
    }
}

impl WebDriverCompatibleCommand for Own {
    fn endpoint(&self, base: &url::Url, open: Option<&str>) -> Result<url::Url, url::ParseError> {
        // The browser's own commands stand beside those of the standard (W3C WebDriver): its title is one of them.
        Standard::GetTitle.endpoint(base, open)?.join(self.end)
    }

    fn method_and_body(&self, _: &url::Url) -> (http::Method, Option<String>) {
        (http::Method::POST, Some(self.body.to_string()))
    }
}

impl Browser {
    /// Opens a browser on pages.
    pub(crate) async fn open(pages: &Pages, size: Size) -> Self {
        let mut driver = Command::new("chromedriver")
            .arg("--port=0")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("the browser tests need Chromium and its driver: `apt-get install chromium chromium-driver`, or what your system calls them");
        let mut out = BufReader::new(driver.stdout.take().unwrap());
        let port = loop {
            let mut line = String::new();
            assert!(out.read_line(&mut line).unwrap() > 0, "chromedriver did not start");
            // It names the port that it asked for first, then the one that it got.
            if let Some((_, port)) = line.split_once("successfully on port ") {
                break port.trim().trim_end_matches('.').parse::<u16>().unwrap();
            }
        };
        // The driver may not be held up by a pipe that nobody reads.
        std::thread::spawn(move || std::io::copy(&mut out, &mut std::io::sink()));
        let (width, height) = size.pixels();
        let mut chrome = json!({
            "args": [
                "--headless=new", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking",
                "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage",
                format!("--window-size={width},{height}"),
            ],
        });
        if size == Size::Phone {
            chrome["mobileEmulation"] = json!({"deviceMetrics": {"width": width, "height": height, "pixelRatio": 1.0, "mobile": true}});
        }
        let mut wanted = serde_json::Map::new();
        wanted.insert("goog:chromeOptions".into(), chrome);
        wanted.insert("goog:loggingPrefs".into(), json!({"browser": "ALL"}));
        let client = ClientBuilder::new(hyper_util::client::legacy::connect::HttpConnector::new())
            .capabilities(wanted)
            .connect(&format!("http://127.0.0.1:{port}"))
            .await
            .unwrap();
        client.execute("return 1", vec![]).await.unwrap();
        Self { client, driver, size, address: pages.address.clone() }
    }

    pub(crate) async fn close(mut self) {
        let _ = self.client.clone().close().await;
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }

    /// Address of the pages, without a slash at its end.
    pub(crate) fn address(&self) -> &str {
        &self.address
    }

    /// Opens a page and sees that it is one: no fault, nothing wider than the window, a heading.
    pub(crate) async fn go(&self, path: &str) {
        self.client.goto(&format!("{}{path}", self.address)).await.unwrap();
        self.fits().await;
    }

    pub(crate) async fn path(&self) -> String {
        let url = self.client.current_url().await.unwrap();
        url.as_str().strip_prefix(&self.address).unwrap_or(url.as_str()).to_owned()
    }

    /// Nothing of the page stands outside the window, and it has one heading of the first order.
    pub(crate) async fn fits(&self) {
        let seen = self
            .client
            .execute(
                "return [document.documentElement.scrollWidth, innerWidth, document.querySelectorAll('h1').length,
                 [...document.querySelectorAll('main *')].filter(e => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest('.scroll, pre, svg, .chart, table')).slice(0, 3).map(e => e.outerHTML.slice(0, 160)).join('\\n')]",
                vec![],
            )
            .await
            .unwrap();
        let path = self.path().await;
        assert!(
            seen[0].as_f64() <= seen[1].as_f64(),
            "{path} is wider than the window ({}): {seen}",
            self.size.word()
        );
        assert_eq!(seen[2], 1, "headings of the first order on {path}");
    }

    async fn find(&self, xpath: &str) -> Element {
        let began = Instant::now();
        loop {
            if let Ok(element) = self.client.find(Locator::XPath(xpath)).await {
                return element;
            }
            if began.elapsed() > PATIENCE {
                self.shot("lost").await;
                panic!("{xpath} does not come up at {}: {}", self.path().await, self.text().await);
            }
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
    }

    /// Clicks a link or button with these words.
    pub(crate) async fn click(&self, words: &str) {
        let is = format!("normalize-space(.)={}", quoted(words));
        let element =
            self.find(&format!("//main//*[(self::a or self::button or self::summary) and {is}]")).await;
        self.client
            .execute(
                "arguments[0].scrollIntoView({block:'center',behavior:'instant'})",
                vec![serde_json::to_value(&element).unwrap()],
            )
            .await
            .unwrap();
        element.click().await.unwrap();
    }

    /// Types into a field by its name; what stood in it goes.
    pub(crate) async fn fill(&self, name: &str, value: &str) {
        let field = self.find(&format!("//*[@name={}]", quoted(name))).await;
        field.clear().await.unwrap();
        field.send_keys(value).await.unwrap();
    }

    /// Sets a field whose keys mean other things in other languages (a date).
    pub(crate) async fn set(&self, name: &str, value: &str) {
        let set = "const f = document.getElementsByName(arguments[0])[0]; f.value = arguments[1]; f.dispatchEvent(new Event('change', {bubbles: true}));";
        self.client.execute(set, vec![json!(name), json!(value)]).await.unwrap();
    }

    /// Chooses from a list by the value, or ticks a box or button of a choice.
    pub(crate) async fn choose(&self, name: &str, value: &str) {
        let set = "const [name, value] = arguments; const f = [...document.getElementsByName(name)].find(f => f.tagName === 'SELECT' || f.value === value);
             if (!f) return false; if (f.tagName === 'SELECT') f.value = value; else f.checked = true;
             f.dispatchEvent(new Event('input', {bubbles: true})); f.dispatchEvent(new Event('change', {bubbles: true})); return f.tagName !== 'SELECT' || f.value === value;";
        let done = self.client.execute(set, vec![json!(name), json!(value)]).await.unwrap();
        assert_eq!(done, true, "no choice {name} = {value} at {}", self.path().await);
    }

    /// Gives a file to the first field for files whose form leads to an address that ends so.
    pub(crate) async fn give(&self, form_ends: &str, file: &Path) {
        let input = self
            .client
            .find(Locator::Css(&format!("form[action$='{form_ends}'] input[type=file]")))
            .await
            .unwrap_or_else(|_| panic!("no form for files that leads to {form_ends}"));
        input.send_keys(&file.display().to_string()).await.unwrap();
    }

    /// Waits until these words are on the page.
    pub(crate) async fn see(&self, words: &str) {
        let began = Instant::now();
        while !self.text().await.contains(words) {
            if began.elapsed() > PATIENCE {
                self.shot("lost").await;
                panic!("\"{words}\" does not come up at {}: {}", self.path().await, self.text().await);
            }
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
    }

    /// Waits until the address has this in it.
    pub(crate) async fn arrive(&self, part: &str) {
        let began = Instant::now();
        while !self.path().await.contains(part) {
            if began.elapsed() > PATIENCE {
                self.shot("lost").await;
                panic!("{part} is not reached; at {}: {}", self.path().await, self.text().await);
            }
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
    }

    /// What can be read on the page.
    pub(crate) async fn text(&self) -> String {
        let text = self.client.execute("return document.body ? document.body.innerText : ''", vec![]).await;
        // Numbers keep to their units by spaces that do not break; a test writes plain ones.
        text.ok().and_then(|t| t.as_str().map(|t| t.replace(['\u{a0}', '\u{202f}'], " "))).unwrap_or_default()
    }

    /// A picture of the whole page, kept among the screenshots.
    pub(crate) async fn shot(&self, name: &str) {
        let (width, height) = self.size.pixels();
        let whole =
            self.client.execute("return document.documentElement.scrollHeight", vec![]).await.unwrap();
        let tall = whole.as_f64().unwrap_or(f64::from(height)).clamp(f64::from(height), 14_000.0);
        let own =
            |cmd: &str, params: Value| Own::new("goog/cdp/execute", json!({"cmd": cmd, "params": params}));
        let metrics = json!({"width": width, "height": tall, "deviceScaleFactor": 1, "mobile": self.size == Size::Phone});
        self.client.issue_cmd(own("Emulation.setDeviceMetricsOverride", metrics)).await.unwrap();
        let png = self.client.screenshot().await.unwrap();
        let back = json!({"width": width, "height": height, "deviceScaleFactor": 1, "mobile": self.size == Size::Phone});
        self.client.issue_cmd(own("Emulation.setDeviceMetricsOverride", back)).await.unwrap();
        let folder = screenshots();
        std::fs::create_dir_all(&folder).unwrap();
        std::fs::write(folder.join(format!("{name}-{}.png", self.size.word())), png).unwrap();
    }

    /// Rules of accessibility that the page breaks, of those that are serious or worse.
    pub(crate) async fn accessible(&self) {
        let axe = std::fs::read_to_string(axe()).expect(
            "the accessibility tests need the script of axe-core: `./check` fetches it, or set EYAS_AXE to its axe.min.js",
        );
        self.client.execute(&format!("{axe}; return true"), vec![]).await.unwrap();
        let found = self
            .client
            .execute_async(
                "const done = arguments[0]; axe.run(document, {resultTypes: ['violations']}).then(r => done(r.violations
                 .filter(v => v.impact === 'serious' || v.impact === 'critical')
                 .map(v => v.id + ': ' + v.help + ' ' + v.nodes.slice(0, 3).map(n => n.html.slice(0, 200) + ' ' + (n.any[0] ? n.any[0].message : '')).join(' | '))))",
                vec![],
            )
            .await
            .unwrap();
        let found: Vec<&str> = found.as_array().unwrap().iter().filter_map(Value::as_str).collect();
        assert!(found.is_empty(), "{} ({}):\n{}", self.path().await, self.size.word(), found.join("\n"));
    }

    /// What the browser itself complained of since it was asked last: forbidden scripts, files that did not load.
    pub(crate) async fn complaints(&self) -> Vec<String> {
        let log = self.client.issue_cmd(Own::new("se/log", json!({"type": "browser"}))).await.unwrap();
        log.as_array()
            .into_iter()
            .flatten()
            .filter(|entry| entry["level"] == "SEVERE")
            .filter_map(|entry| entry["message"].as_str().map(str::to_owned))
            .collect()
    }
}

fn quoted(words: &str) -> String {
    assert!(!words.contains('"'), "a test's words hold no double quotes");
    format!("\"{words}\"")
}

/// Where pictures are kept.
fn screenshots() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../target/screenshots")
}

/// Where `./check` puts the script that looks for what a screen reader would stumble over.
fn axe() -> PathBuf {
    std::env::var_os("EYAS_AXE").map_or_else(
        || Path::new(env!("CARGO_MANIFEST_DIR")).join("../../../target/axe-core/axe.min.js"),
        PathBuf::from,
    )
}

/// Ten minutes at 1 kHz in forty-one columns: a slow circle in level flight, and thirty-one columns that mean nothing.
pub(crate) fn long_recording(path: &Path) {
    use std::io::Write as _;
    let mut out = std::io::BufWriter::new(std::fs::File::create(path).unwrap());
    write!(out, "time_s,roll_deg,pitch_deg,heading_deg,roll_rate_deg_s,pitch_rate_deg_s,yaw_rate_deg_s,airspeed_m_s,height_m,throttle_percent").unwrap();
    for i in 0..31 {
        write!(out, ",spare_{i}").unwrap();
    }
    writeln!(out).unwrap();
    for i in 0..600_000_u32 {
        let t = f64::from(i) * 1e-3;
        let heading = (t * 6.0) % 360.0;
        write!(
            out,
            "{t:.3},{:.3},{:.3},{heading:.3},{:.4},{:.4},6.0000,{:.3},{:.3},45.0",
            15.0 + 2.0 * (t * 0.7).sin(),
            3.0 + (t * 0.3).sin(),
            1.4 * (t * 0.7).cos(),
            0.3 * (t * 0.3).cos(),
            13.0 + 0.5 * (t * 0.2).sin(),
            60.0 + 5.0 * (t * 0.05).sin(),
        )
        .unwrap();
        for k in 0..31_u32 {
            write!(out, ",{:.6}", f64::from((i * 7 + k * 13) % 1000) * 0.001).unwrap();
        }
        writeln!(out).unwrap();
    }
    out.flush().unwrap();
}
