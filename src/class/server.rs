//! Routes, headers and the seat's socket.
//!
//! *Inside*: which request gets which response; a page's socket. *Outside*: headers ([`super::pages`]), admission
//! ([`super::Class`], [`super::join`]), messages to a seat ([`super::seat`]), the wall's socket ([`super::wall`]).

use super::join::{self, Rate};
use super::listen::Gate;
use super::pages::{Asks, Shared, answer, page, paper, refuse, with_headers};
use super::seat::{Attempt, Out, Seat};
use super::views::{Memory, Wish, look};
use super::{Class, Refusal, marks, now};
use crate::app::terminal::tell;
use crate::app::view::Known;
use crate::app::{Error, Viewer};
use crate::words::numbers::Units;
use crate::words::{Words, facts, say};
use axum::Router;
use axum::extract::ws::{Message, WebSocket, WebSocketUpgrade};
use axum::extract::{ConnectInfo, DefaultBodyLimit, Path, Query, State};
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::serve::IncomingStream;
use futures_util::stream::{SplitSink, SplitStream};
use futures_util::{SinkExt, StreamExt};
use serde::Deserialize;
use serde_json::{Value, json};
use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;
use std::time::{Duration, Instant};
use tokio::sync::mpsc::{UnboundedReceiver, UnboundedSender, unbounded_channel};
use tokio::time::{MissedTickBehavior, interval, timeout};

/// Version of the protocol.
const PROTOCOL: u32 = 1;
/// Maximum size of a page's message \[bytes\].
const LARGEST: usize = 8 << 10;
/// Maximum size of a request \[bytes\].
const LARGEST_REQUEST: usize = 1 << 10;
/// Messages in a burst, and per second.
const RATE: (f64, f64) = (40.0, 20.0);
/// Longest time that a page may take to accept a message.
const SLOWEST: Duration = Duration::from_secs(10);
/// Shortest time between two drawings of the engine.
const BEAT: Duration = Duration::from_millis(50);
/// Shortest time between two views.
const VIEW_EVERY: Duration = Duration::from_millis(85);
/// The same if nothing has changed.
const REST: Duration = Duration::from_millis(450);
/// A page that has to wait for what it is sent asks for less: a drawing of the engine after this many times the
/// wait, a view after twice as many. Where the processor is short, acts are seen soon and what moves by itself is
/// drawn less often.
const SPARE: u32 = 6;
/// Shares of the seats that are looked after in turn.
const SHARES: u32 = 10;
/// How often a page is pinged.
const PING: Duration = Duration::from_secs(20);

/// The peer of a connection.
#[derive(Debug, Clone, Copy)]
pub(super) struct Peer(pub(super) SocketAddr);

impl axum::extract::connect_info::Connected<IncomingStream<'_, Gate>> for Peer {
    fn connect_info(stream: IncomingStream<'_, Gate>) -> Self {
        Self(*stream.remote_addr())
    }
}

/// Serves a class until `stop` completes.
pub async fn serve(class: Arc<Class>, gate: Gate, stop: impl Future<Output = ()> + Send + 'static) {
    class.resume();
    let ticking = tokio::spawn(ticks(Arc::clone(&class)));
    let routes = routes(&class.base).with_state(Arc::clone(&class));
    let server = axum::serve(gate, routes.into_make_service_with_connect_info::<Peer>());
    tokio::select! {
        // the server ends only with the program
        _ = server => {}
        () = stop => {}
    }
    ticking.abort();
    class.tick(|_| true);
    for seat in class.seats() {
        if let Some(page) = seat.state().page.take() {
            let _ = page.to.send(Out::Bye("stopping"));
        }
    }
    tokio::time::sleep(Duration::from_millis(200)).await;
}

async fn ticks(class: Arc<Class>) {
    // every seat once a second, a few at a time: all at once they would wait for each other
    let mut every = interval(Duration::from_secs(1) / SHARES);
    every.set_missed_tick_behavior(MissedTickBehavior::Delay);
    for share in (0..SHARES).cycle() {
        every.tick().await;
        class.tick(|seat| seat.id % SHARES == share);
        if share == 0 && class.testers.is_some() {
            let class = Arc::clone(&class);
            // the call waits for the socket threads
            let _ = tokio::task::spawn_blocking(move || class.keep_testers()).await;
        }
    }
}

/// TLS with a certificate and its key.
pub fn tls(certificate: &[u8], key: &[u8]) -> Result<tokio_rustls::TlsAcceptor, Error> {
    use tokio_rustls::rustls::ServerConfig;
    use tokio_rustls::rustls::pki_types::pem::PemObject;
    use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer};
    let wrong = |why: String| Error::rule(say!("class-certificate", why = why));
    let chain: Vec<CertificateDer<'static>> = CertificateDer::pem_slice_iter(certificate)
        .collect::<Result<_, _>>()
        .map_err(|e| wrong(e.to_string()))?;
    let key = PrivateKeyDer::from_pem_slice(key).map_err(|e| wrong(e.to_string()))?;
    let config = ServerConfig::builder().with_no_client_auth().with_single_cert(chain, key);
    let mut config = config.map_err(|e| wrong(e.to_string()))?;
    config.alpn_protocols = vec![b"http/1.1".to_vec()];
    Ok(Arc::new(config).into())
}

fn routes(base: &str) -> Router<Arc<Class>> {
    let at = |path: &str| format!("{base}/{path}");
    let mut all = Router::new()
        .route(&at(""), get(|| page("join.html")))
        .route(&at("join"), post(join_class))
        .route(&at("words.json"), get(words))
        .route(&at("units.json"), get(units))
        .route(&at("assets/{name}"), get(|Path(name): Path<String>| async move { page(&name).await }))
        .route(&at("seat"), get(seat_page))
        .route(&at("seat/ws"), get(seat_socket))
        .route(&at("debrief"), get(debrief))
        .route(&at("wall"), get(wall_page))
        .merge(super::wall::routes(&at("wall")));
    if !base.is_empty() {
        let to = at("");
        all = all.route(base, get(move || async move { Redirect::permanent(&to) }));
    }
    all.layer(DefaultBodyLimit::max(LARGEST_REQUEST)).layer(axum::middleware::map_response(with_headers))
}

/// The texts of the pages: all their messages, and the names in the catalogue.
async fn words() -> Response {
    let spoken = crate::words::spoken();
    let all: serde_json::Map<String, Value> = Words::english_ids(&["class.ftl", "catalogue.ftl"])
        .map(|id| (id.to_owned(), spoken.pattern(id).into()))
        .collect();
    answer(StatusCode::OK, "application/json", Value::Object(all).to_string())
}

/// How a page shows metric numbers in US units.
async fn units() -> Response {
    answer(StatusCode::OK, "application/json", json!(Units::us_table()).to_string())
}

#[derive(Deserialize)]
struct Joins {
    class: String,
    seat: String,
    code: Option<String>,
}

async fn join_class(
    State(class): Shared,
    ConnectInfo(Peer(peer)): ConnectInfo<Peer>,
    headers: HeaderMap,
    body: String,
) -> Response {
    if !join::own_origin(&headers, false) {
        return refuse(StatusCode::FORBIDDEN, &say("class-foreign"));
    }
    let Ok(asked) = serde_json::from_str::<Joins>(&body) else {
        return refuse(StatusCode::BAD_REQUEST, &say("class-not-understood"));
    };
    let who = join::address(peer, &headers);
    let own = join::cookie(&headers, "seat").and_then(|c| class.seat_of(c));
    if let Some(seat) =
        own.filter(|s| Some(s.word.to_lowercase()) == join::pseudonym(&asked.seat).map(|w| w.to_lowercase()))
    {
        return answer(StatusCode::OK, "application/json", seated(&seat));
    }
    match class.join(&asked.class, &asked.seat, asked.code.as_deref(), who) {
        Ok((seat, secret)) => {
            let settings = class.settings();
            if let (Some(lesson), true) = (settings.lesson, seat.state().rows.is_empty()) {
                let (class, seat) = (Arc::clone(&class), Arc::clone(&seat));
                tokio::spawn(async move {
                    if let Err(e) = class.assign(&seat, &lesson, settings.variants).await {
                        tell(&e.to_string());
                    }
                });
            }
            let cookie = join::set_cookie("seat", &secret, &format!("{}/", class.base), class.secure);
            let mut response = answer(StatusCode::OK, "application/json", seated(&seat));
            if let Ok(cookie) = HeaderValue::from_str(&cookie) {
                response.headers_mut().insert(header::SET_COOKIE, cookie);
            }
            response
        }
        Err(why) => refused(why),
    }
}

fn seated(seat: &Seat) -> String {
    json!({ "seat": { "id": seat.id, "word": seat.word } }).to_string()
}

fn refused(why: Refusal) -> Response {
    let (status, id) = match why {
        Refusal::Wait => (StatusCode::TOO_MANY_REQUESTS, "class-wait"),
        Refusal::Wrong => (StatusCode::FORBIDDEN, "class-wrong-word"),
        Refusal::Pseudonym => (StatusCode::BAD_REQUEST, "class-pseudonym"),
        Refusal::Taken => (StatusCode::CONFLICT, "class-taken"),
        Refusal::Full => (StatusCode::SERVICE_UNAVAILABLE, "class-full"),
        Refusal::Trouble => (StatusCode::INTERNAL_SERVER_ERROR, "class-trouble"),
    };
    refuse(status, &said(id))
}

/// The sentence for a refusal.
fn said(id: &str) -> String {
    say(id)
}

async fn seat_page(State(class): Shared, headers: HeaderMap) -> Response {
    match join::cookie(&headers, "seat").and_then(|c| class.seat_of(c)) {
        Some(_) => page("seat.html").await,
        None => Redirect::to(&format!("{}/", class.base)).into_response(),
    }
}

async fn debrief(State(class): Shared, headers: HeaderMap, Query(asks): Query<Asks>) -> Response {
    let seat = join::cookie(&headers, "seat").and_then(|c| class.seat_of(c));
    let last = seat.and_then(|s| s.state().rows.iter().rev().find(|r| r.handed_in && r.released).cloned());
    match last.and_then(|r| marks::debrief(&class, r.seat, r.number, asks.units())) {
        Some(html) => paper(html),
        None => refuse(StatusCode::FORBIDDEN, &say("class-not-released")),
    }
}

#[derive(Deserialize)]
struct Key {
    key: Option<String>,
    units: Option<String>,
}

async fn wall_page(
    State(class): Shared,
    ConnectInfo(Peer(peer)): ConnectInfo<Peer>,
    headers: HeaderMap,
    Query(Key { key, units }): Query<Key>,
) -> Response {
    if let Some(key) = key {
        return match class.admit_instructor(&key, join::address(peer, &headers)) {
            Ok(secret) => {
                let path = format!("{}/", class.base);
                let cookie = join::set_cookie("wall", &secret, &path, class.secure);
                // the page reads from its own address which units were asked for
                let asked = if units.as_deref() == Some("us") { "?units=us" } else { "" };
                let mut response = Redirect::to(&format!("{}/wall{asked}", class.base)).into_response();
                if let Ok(cookie) = HeaderValue::from_str(&cookie) {
                    response.headers_mut().insert(header::SET_COOKIE, cookie);
                }
                response
            }
            Err(Refusal::Wrong) => refuse(StatusCode::FORBIDDEN, &say("class-wrong-link")),
            Err(why) => refused(why),
        };
    }
    if class.is_instructor(&headers) {
        page("wall.html").await
    } else {
        refuse(StatusCode::FORBIDDEN, &say("class-wrong-link"))
    }
}

async fn seat_socket(
    State(class): Shared,
    ConnectInfo(Peer(peer)): ConnectInfo<Peer>,
    headers: HeaderMap,
    Query(asks): Query<Asks>,
    upgrade: WebSocketUpgrade,
) -> Response {
    if !join::own_origin(&headers, true) {
        return refuse(StatusCode::FORBIDDEN, &say("class-foreign"));
    }
    let Some(seat) = join::cookie(&headers, "seat").and_then(|c| class.seat_of(c)) else {
        return refuse(StatusCode::FORBIDDEN, &say("class-join-first"));
    };
    let upgrade = upgrade.max_message_size(LARGEST).max_frame_size(LARGEST);
    let from = join::address(peer, &headers);
    upgrade.on_upgrade(move |socket| seated_at(class, seat, from, asks.units(), socket))
}

async fn seated_at(class: Arc<Class>, seat: Arc<Seat>, from: IpAddr, units: Units, socket: WebSocket) {
    let (sink, stream) = socket.split();
    let (to, inbox) = unbounded_channel();
    let page = seat.connect(to.clone(), from);
    seat.hold(false);
    let mut reading = tokio::spawn(read(Arc::clone(&seat), stream, to.clone()));
    let mut out = Pages { class, seat, sink, looks: Looks::default(), units, attempt: None, told: None };
    tokio::select! {
        _ = &mut reading => {}
        _ = out.run(inbox) => {}
    }
    reading.abort();
    out.seat.disconnect(page, now());
    let _ = timeout(Duration::from_secs(1), out.sink.close()).await;
}

/// Reads a page's messages until it disconnects, or until it is no longer one of ours.
async fn read(seat: Arc<Seat>, mut stream: SplitStream<WebSocket>, to: UnboundedSender<Out>) {
    let mut rate = Rate::new(RATE.0, RATE.1, now());
    while let Some(Ok(message)) = stream.next().await {
        let text = match message {
            Message::Text(text) => text,
            Message::Ping(_) | Message::Pong(_) => continue,
            Message::Binary(_) | Message::Close(_) => return,
        };
        if !rate.passes(now()) {
            // a page that sends more than a person can is slowed down
            tokio::time::sleep(Duration::from_millis(250)).await;
        }
        let Ok(Value::Object(message)) = serde_json::from_str(&text) else { return };
        let message = Value::Object(message);
        let number = |key: &str| message.get(key).and_then(Value::as_u64);
        match (message.get("kind").and_then(Value::as_str), number("n")) {
            (Some("look"), _) => {
                let flag = |key: &str| message.get(key).and_then(Value::as_bool);
                let _ = to.send(Out::Look(flag("engine"), flag("hidden")));
            }
            (Some("resume"), _) => {
                let count = |key: &str| number(key).unwrap_or(0) as usize;
                let known =
                    Known { epoch: number("epoch").unwrap_or(0), rows: count("rows"), lines: count("lines") };
                let _ = to.send(Out::Resume(number("attempt").unwrap_or(0) as u32, known));
            }
            (Some(_), Some(n)) => seat.take(n, message, &to, now()),
            _ => return,
        }
    }
}

/// What a page wants to see, and what it already has.
#[derive(Debug, Default)]
struct Looks {
    engine: bool,
    hidden: bool,
    memory: Memory,
    viewed: Option<Instant>,
    /// Nothing has changed.
    rests: bool,
    /// Something was done: the next view is sent at once.
    now: bool,
    drawn: Option<Instant>,
    /// How long the page waits for what it asks for: mean of the last few times.
    wait: Duration,
    pinged: Option<Instant>,
}

/// A page's sending side.
struct Pages {
    class: Arc<Class>,
    seat: Arc<Seat>,
    sink: SplitSink<WebSocket, Message>,
    looks: Looks,
    /// Units of the page.
    units: Units,
    attempt: Option<Arc<Attempt>>,
    /// The last progress sent for the car's earlier life.
    told: Option<u32>,
}

/// The page is disconnected or too slow.
struct Gone;

impl Pages {
    async fn send(&mut self, text: String) -> Result<(), Gone> {
        self.put(Message::Text(text.into())).await
    }
    async fn put(&mut self, message: Message) -> Result<(), Gone> {
        match timeout(SLOWEST, self.sink.send(message)).await {
            Ok(Ok(())) => Ok(()),
            _ => Err(Gone),
        }
    }

    async fn run(&mut self, mut inbox: UnboundedReceiver<Out>) -> Result<(), Gone> {
        self.hello().await?;
        let mut beat = interval(BEAT);
        beat.set_missed_tick_behavior(MissedTickBehavior::Delay);
        loop {
            let beats = tokio::select! {
                biased;
                out = inbox.recv() => match out {
                    None => return Ok(()),
                    Some(out) => {
                        self.pass_on(out).await?;
                        false
                    }
                },
                _ = beat.tick() => {
                    self.prepare().await?;
                    true
                }
            };
            self.look(beats).await?;
        }
    }

    async fn pass_on(&mut self, out: Out) -> Result<(), Gone> {
        match out {
            Out::Text(text) => self.send(text).await,
            Out::Done(n, said) => {
                self.looks.now = true;
                self.send(json!({ "kind": "ack", "n": n }).to_string()).await?;
                match said {
                    Some(text) => {
                        self.send(json!({ "kind": "told", "n": n, "text": text }).to_string()).await
                    }
                    None => Ok(()),
                }
            }
            Out::Look(engine, hidden) => {
                self.looks.engine = engine.unwrap_or(self.looks.engine);
                self.looks.hidden = hidden.unwrap_or(self.looks.hidden);
                self.looks.now = !self.looks.hidden;
                Ok(())
            }
            Out::Resume(attempt, known) => {
                if self.attempt.as_ref().is_some_and(|a| a.row.number == attempt) {
                    self.looks.memory = Memory::of(self.units, known);
                }
                Ok(())
            }
            Out::Anew => self.hello().await,
            Out::Bye(why) => {
                self.send(json!({ "kind": "bye", "why": why }).to_string()).await?;
                Err(Gone)
            }
        }
    }

    async fn hello(&mut self) -> Result<(), Gone> {
        self.attempt = self.seat.attempt();
        let preparing = self.attempt.as_ref().is_some_and(|a| a.live.conditioning().is_some());
        self.told = preparing.then_some(u32::MAX);
        self.looks.memory = Memory::of(self.units, Known::default());
        self.looks.now = true;
        let mut hello = self.seat.standing();
        hello["kind"] = json!("hello");
        hello["protocol"] = json!(PROTOCOL);
        hello["class"] = json!(self.class.word);
        hello["seat"] = json!({ "id": self.seat.id, "word": self.seat.word });
        hello["lesson"] = match &self.attempt {
            Some(attempt) => attempt.lesson().await,
            None => Value::Null,
        };
        self.send(hello.to_string()).await
    }

    /// Sends the progress of the car's earlier life; after hand-over, the offers.
    async fn prepare(&mut self) -> Result<(), Gone> {
        let (Some(told), Some(attempt)) = (self.told, &self.attempt) else { return self.ping().await };
        if let Some(why) = attempt.live.trouble() {
            let why = facts::trouble(&why);
            self.told = None;
            return self.send(json!({ "kind": "told", "text": why }).to_string()).await;
        }
        match attempt.live.conditioning() {
            None => self.hello().await,
            Some(share) => {
                let now = (100.0 * share) as u32;
                if now == told {
                    return self.ping().await;
                }
                self.told = Some(now);
                self.send(json!({ "kind": "preparing", "share": share }).to_string()).await
            }
        }
    }

    async fn ping(&mut self) -> Result<(), Gone> {
        let now = now();
        if self.looks.pinged.is_some_and(|at| now.duration_since(at) < PING) {
            return Ok(());
        }
        self.looks.pinged = Some(now);
        self.put(Message::Ping(Vec::new().into())).await
    }

    /// What is due at the page; on a beat also the engine, if the page draws it and it moves.
    fn due(&mut self, beats: bool) -> Option<Wish> {
        let at = now();
        let looks = &mut self.looks;
        if looks.hidden || self.told.is_some() || self.attempt.is_none() {
            return None;
        }
        let past =
            |last: Option<Instant>, least: Duration| last.is_none_or(|t| at.duration_since(t) >= least);
        let every = if looks.rests { REST } else { VIEW_EVERY.max(2 * SPARE * looks.wait) };
        let view = looks.now || past(looks.viewed, every);
        // a beat comes a little early or late
        let draws =
            beats && looks.engine && !looks.rests && past(looks.drawn, (SPARE * looks.wait).max(BEAT / 2));
        if draws {
            looks.drawn = Some(at);
        }
        if view {
            looks.now = false;
            looks.viewed = Some(at);
        }
        match (draws, view) {
            (false, false) => None,
            (true, false) => Some(Wish::Engine),
            (false, true) => Some(Wish::View(std::mem::take(&mut looks.memory))),
            (true, true) => Some(Wish::Both(std::mem::take(&mut looks.memory))),
        }
    }

    /// Sends what is due.
    async fn look(&mut self, beats: bool) -> Result<(), Gone> {
        let Some(wish) = self.due(beats) else { return Ok(()) };
        let Some(attempt) = &self.attempt else { return Ok(()) };
        let asked = now();
        // without a frame the attempt was handed in
        let Ok(frame) = look(attempt, Viewer::Trainee, (json!({}), json!({ "kind": "view" })), wish).await
        else {
            return Ok(());
        };
        self.looks.wait = (7 * self.looks.wait + now().duration_since(asked)) / 8;
        if let Some(text) = frame.engine {
            self.send(text).await?;
        }
        if let Some(memory) = frame.memory {
            self.looks.memory = memory;
            self.looks.rests = frame.view.is_none();
        }
        match frame.view {
            Some(text) => self.send(text).await,
            None => Ok(()),
        }
    }
}
