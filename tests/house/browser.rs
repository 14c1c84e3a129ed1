//! People and programs, as the server sees them.

use std::cell::RefCell;
use std::collections::BTreeMap;

use ureq::Agent;

/// What came back.
#[derive(Clone, Debug)]
pub struct Answer {
    pub status: u16,
    pub body: String,
    pub location: Option<String>,
    pub headers: BTreeMap<String, String>,
}

impl Answer {
    /// The body as JSON.
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.body).unwrap_or_else(|e| panic!("{e}: {}", self.body))
    }

    #[track_caller]
    pub fn is(self, status: u16) -> Answer {
        assert_eq!(self.status, status, "{}", self.body);
        self
    }

    #[track_caller]
    pub fn says(self, text: &str) -> Answer {
        assert!(self.body.contains(text), "“{text}” is missing in\n{}", self.body);
        self
    }
}

fn agent() -> Agent {
    Agent::config_builder().max_redirects(0).http_status_as_error(false).build().into()
}

fn answer(res: Result<ureq::http::Response<ureq::Body>, ureq::Error>) -> Answer {
    let mut res = res.expect("the server answers");
    let text = |v: &ureq::http::HeaderValue| String::from_utf8_lossy(v.as_bytes()).into_owned();
    let headers: BTreeMap<String, String> =
        res.headers().iter().map(|(k, v)| (k.to_string(), text(v))).collect();
    Answer {
        status: res.status().as_u16(),
        location: headers.get("location").cloned(),
        headers,
        body: res.body_mut().read_to_string().unwrap_or_default(),
    }
}

/// A person's browser, with its cookies.
pub struct Browser {
    pub id: i64,
    url: String,
    agent: Agent,
    cookies: RefCell<BTreeMap<String, String>>,
}

impl Browser {
    pub fn new(url: &str, cookie: Option<String>) -> Browser {
        let pair = cookie.as_deref().and_then(|c| c.split_once('='));
        let cookies = pair.map(|(k, v)| (k.to_owned(), v.to_owned())).into_iter().collect();
        Browser { id: 0, url: url.to_owned(), agent: agent(), cookies: RefCell::new(cookies) }
    }

    fn cookie_line(&self) -> String {
        let jar = self.cookies.borrow();
        jar.iter().map(|(k, v)| format!("{k}={v}")).collect::<Vec<_>>().join("; ")
    }

    fn keep(&self, answer: &Answer) {
        // One Set-Cookie a response is all that the stories look at.
        if let Some(line) = answer.headers.get("set-cookie") {
            let pair = line.split(';').next().unwrap_or_default();
            if let Some((name, value)) = pair.split_once('=') {
                if value.is_empty() {
                    self.cookies.borrow_mut().remove(name);
                } else {
                    self.cookies.borrow_mut().insert(name.to_owned(), value.to_owned());
                }
            }
        }
    }

    /// The cookies it holds now, as a header line.
    pub fn cookies(&self) -> String {
        self.cookie_line()
    }

    pub fn get(&self, path: &str) -> Answer {
        let call =
            self.agent.get(format!("{}{path}", self.url)).header("cookie", self.cookie_line());
        let answer = answer(call.call());
        self.keep(&answer);
        answer
    }

    /// Sends a form as its page would: with a once-key of its own, from our own site.
    pub fn post(&self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let mut pairs: Vec<(&str, &str)> = fields.to_vec();
        let key = wetside::secrets::token();
        if !fields.iter().any(|(k, _)| *k == "once_key") {
            pairs.push(("once_key", &key));
        }
        let body = serde_urlencoded::to_string(pairs).unwrap();
        self.post_raw(path, "application/x-www-form-urlencoded", "same-origin", body.as_bytes())
    }

    /// Sends any bytes, from any site.
    pub fn post_raw(&self, path: &str, kind: &str, site: &str, body: &[u8]) -> Answer {
        let call = self
            .agent
            .post(format!("{}{path}", self.url))
            .header("cookie", self.cookie_line())
            .header("content-type", kind)
            .header("sec-fetch-site", site);
        let answer = answer(call.send(body));
        self.keep(&answer);
        answer
    }

    /// Follows one redirection.
    #[track_caller]
    pub fn follow(&self, answer: Answer) -> Answer {
        assert_eq!(answer.status, 303, "{}", answer.body);
        self.get(&answer.location.expect("a place to go"))
    }
}

/// A program with a token, or with none.
pub struct Api {
    url: String,
    token: Option<String>,
    agent: Agent,
}

impl Api {
    pub fn new(url: &str, token: Option<String>) -> Api {
        Api { url: url.to_owned(), token, agent: agent() }
    }

    fn bearer(&self) -> String {
        self.token.as_ref().map_or_else(String::new, |t| format!("Bearer {t}"))
    }

    pub fn get(&self, path: &str) -> Answer {
        let call = self.agent.get(format!("{}{path}", self.url));
        answer(call.header("authorization", self.bearer()).call())
    }

    /// Asks for what changed since this ETag.
    pub fn get_if_changed(&self, path: &str, tag: &str) -> Answer {
        let call = self.agent.get(format!("{}{path}", self.url)).header("if-none-match", tag);
        answer(call.header("authorization", self.bearer()).call())
    }

    pub fn delete(&self, path: &str) -> Answer {
        let call = self.agent.delete(format!("{}{path}", self.url));
        answer(call.header("authorization", self.bearer()).call())
    }

    pub fn post(&self, path: &str, body: &serde_json::Value) -> Answer {
        self.post_keyed(path, None, body)
    }

    pub fn post_keyed(&self, path: &str, key: Option<&str>, body: &serde_json::Value) -> Answer {
        let mut call = self
            .agent
            .post(format!("{}{path}", self.url))
            .header("authorization", self.bearer())
            .header("content-type", "application/json");
        if let Some(key) = key {
            call = call.header("idempotency-key", key);
        }
        answer(call.send(body.to_string()))
    }
}
