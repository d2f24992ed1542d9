//! Who is let in: this machine's browser, after the start link, from our own pages.
//!
//! | check | against |
//! |---|---|
//! | bound to 127.0.0.1 | other machines |
//! | Host is ours | a foreign name that was made to point here (DNS rebinding) |
//! | a secret in the start link becomes a cookie, `HttpOnly`, `SameSite=Strict` | other users and programs of this machine |
//! | Origin is ours or absent, Sec-Fetch-Site is not another site | pages of other sites |
//! | a token in every form | the same, once more |
//! | Content-Security-Policy without inline script or style | markup that were not escaped |
//!
//! Start at [`Guard::admit`].

use std::hash::{BuildHasher, Hasher, RandomState};

use tiny_http::Request;

use super::Answer;
use crate::error::DeskError;

/// Said with every answer.
pub const HEADERS: &[(&str, &str)] = &[
    (
        "Content-Security-Policy",
        "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; \
         form-action 'self'; frame-ancestors 'none'; base-uri 'none'",
    ),
    ("X-Content-Type-Options", "nosniff"),
    ("Referrer-Policy", "no-referrer"),
    ("Cache-Control", "no-store"),
    ("Cross-Origin-Opener-Policy", "same-origin"),
    ("Cross-Origin-Resource-Policy", "same-origin"),
];

/// One start of the server.
pub struct Guard {
    port: u16,
    secret: String,
    token: String,
}

impl Guard {
    /// A guard with a secret and a token of its own.
    ///
    /// # Errors
    /// If the system has no random bytes.
    pub fn new(port: u16) -> Result<Self, DeskError> {
        Ok(Self { port, secret: random()?, token: random()? })
    }

    /// The link to begin with.
    pub fn link(&self) -> String {
        format!("http://127.0.0.1:{}/start/{}", self.port, self.secret)
    }

    /// The token of this start's forms.
    pub fn token(&self) -> &str {
        &self.token
    }

    /// Whether a form's token is this start's.
    pub fn is_token(&self, token: Option<&str>) -> bool {
        token.is_some_and(|token| same(token, &self.token))
    }

    /// Whether a path is the start link's.
    pub fn is_start(&self, path: &str) -> bool {
        path.strip_prefix("/start/").is_some_and(|secret| same(secret, &self.secret))
    }

    /// The answer to the start link: the secret goes into a cookie and out of sight.
    pub fn start(&self) -> Answer {
        Answer::text(303, "").with("Location", "/").with(
            "Set-Cookie",
            format!("{}={}; HttpOnly; SameSite=Strict; Path=/", self.cookie(), self.secret),
        )
    }

    fn cookie(&self) -> String {
        format!("chalkface-{}", self.port)
    }

    /// Lets a request in, or says why not.
    ///
    /// # Errors
    /// The answer that goes back instead.
    pub fn admit(&self, request: &Request) -> Result<(), Answer> {
        let header = |name: &'static str| {
            request
                .headers()
                .iter()
                .find(|header| header.field.equiv(name))
                .map(|header| header.value.as_str())
        };
        let hosts = [format!("127.0.0.1:{}", self.port), format!("localhost:{}", self.port)];
        if !header("Host").is_some_and(|host| hosts.iter().any(|own| own == host)) {
            return Err(Answer::text(421, "This is not served under that name."));
        }
        let own_origin = |origin: &str| hosts.iter().any(|host| origin.strip_prefix("http://") == Some(host));
        if header("Origin").is_some_and(|origin| !own_origin(origin)) {
            return Err(Answer::text(403, "Another site asked for this; it is refused."));
        }
        let path = request.url().split('?').next().unwrap_or_default();
        if self.is_start(path) {
            return Ok(());
        }
        if header("Sec-Fetch-Site").is_some_and(|site| !matches!(site, "same-origin" | "none")) {
            return Err(Answer::text(403, "Another site asked for this; it is refused."));
        }
        let secret = header("Cookie").and_then(|cookies| {
            let mut pairs = cookies.split(';').filter_map(|pair| pair.trim().split_once('='));
            pairs.find(|(name, _)| *name == self.cookie()).map(|(_, value)| value)
        });
        if secret.is_some_and(|secret| same(secret, &self.secret)) {
            return Ok(());
        }
        Err(Answer::text(403, "Open the link that `chalkface serve` printed: it holds the key to this page."))
    }
}

/// A form of an earlier start.
pub fn stale() -> Answer {
    Answer::text(403, "This page is of an earlier start, or another site's; open the link again.")
}

/// Whether two texts are the same, in a time that doesn't tell how much of them is: their
/// keyed hashes are compared, under a key that nobody knows.
fn same(a: &str, b: &str) -> bool {
    let keyed = RandomState::new();
    let hash = |text: &str| {
        let mut hasher = keyed.build_hasher();
        hasher.write(text.as_bytes());
        hasher.finish()
    };
    hash(a) == hash(b) && a == b
}

fn random() -> Result<String, DeskError> {
    let mut bytes = [0_u8; 24];
    getrandom::fill(&mut bytes).map_err(|error| DeskError::System(error.to_string()))?;
    Ok(bytes.iter().map(|byte| format!("{byte:02x}")).collect())
}
