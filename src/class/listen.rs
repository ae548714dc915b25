//! Connections: limits on their number, in all and per address, and on how long one may be silent; encryption if
//! there is a certificate.
//!
//! *Inside*: the checks before any byte is interpreted. *Outside*: requests ([`super::server`]).
//!
//! A connection that sends nothing for a minute is closed: a page answers pings more often than that, and an
//! incomplete request or a tablet with an empty battery does not hold its place for long.

use std::collections::BTreeMap;
use std::future::Future;
use std::io;
use std::net::{IpAddr, SocketAddr};
use std::pin::Pin;
use std::sync::{Arc, Mutex, PoisonError};
use std::task::{Context, Poll};
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::mpsc::{Receiver, channel};
use tokio::time::{Instant, Sleep, sleep, timeout};
use tokio_rustls::TlsAcceptor;
use tokio_rustls::server::TlsStream;

/// Longest silence of a client.
const SILENCE: Duration = Duration::from_secs(60);
/// Maximum duration of a TLS handshake.
const HANDSHAKE: Duration = Duration::from_secs(10);
/// Maximum number of connections per address; a proxy on this machine stands for many clients.
const OF_ONE: usize = 64;

/// Listens at an address.
pub async fn bind(at: SocketAddr) -> io::Result<TcpListener> {
    TcpListener::bind(at).await
}

/// The address at which others on the network reach this machine: that of the outgoing route, on which nothing is
/// sent.
pub fn own_address() -> Option<IpAddr> {
    let socket = std::net::UdpSocket::bind(("0.0.0.0", 0)).ok()?;
    // a documentation address (RFC 5737): connecting a datagram socket selects the route and sends nothing
    socket.connect(("192.0.2.1", 9)).ok()?;
    Some(socket.local_addr().ok()?.ip()).filter(|ip| !ip.is_unspecified())
}

/// The number of clients connected.
#[derive(Debug, Default)]
struct Places {
    all: usize,
    by_address: BTreeMap<IpAddr, usize>,
}

/// A place that a connection holds as long as it is open.
#[derive(Debug)]
struct Place {
    who: IpAddr,
    places: Arc<Mutex<Places>>,
}

impl Place {
    fn take(places: &Arc<Mutex<Places>>, who: IpAddr, most: usize) -> Option<Self> {
        let mut all = places.lock().unwrap_or_else(PoisonError::into_inner);
        let own = all.by_address.get(&who).copied().unwrap_or(0);
        if all.all >= most || (own >= OF_ONE && !who.is_loopback()) {
            return None;
        }
        all.all += 1;
        all.by_address.insert(who, own + 1);
        Some(Self { who, places: Arc::clone(places) })
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        let mut all = self.places.lock().unwrap_or_else(PoisonError::into_inner);
        all.all = all.all.saturating_sub(1);
        if let Some(own) = all.by_address.get_mut(&self.who) {
            *own -= 1;
            if *own == 0 {
                all.by_address.remove(&self.who);
            }
        }
    }
}

#[derive(Debug)]
enum Stream {
    Plain(TcpStream),
    Encrypted(Box<TlsStream<TcpStream>>),
}

/// A connection.
#[derive(Debug)]
pub struct Io {
    stream: Stream,
    silence: Pin<Box<Sleep>>,
    _place: Place,
}

/// Accepts connections.
#[derive(Debug)]
pub struct Gate {
    ready: Receiver<(Io, SocketAddr)>,
    at: SocketAddr,
}

impl Gate {
    /// Accepts connections from a listener, up to a maximum number.
    pub fn new(listener: TcpListener, tls: Option<TlsAcceptor>, most: usize) -> io::Result<Self> {
        let at = listener.local_addr()?;
        let (give, ready) = channel(64);
        let places = Arc::new(Mutex::new(Places::default()));
        tokio::spawn(async move {
            loop {
                let Ok((stream, peer)) = listener.accept().await else {
                    // probably out of file handles: other connections have to close first
                    sleep(Duration::from_millis(50)).await;
                    continue;
                };
                let Some(place) = Place::take(&places, peer.ip(), most) else { continue };
                let _ = stream.set_nodelay(true);
                let (give, tls) = (give.clone(), tls.clone());
                tokio::spawn(async move {
                    let stream = match tls {
                        None => Stream::Plain(stream),
                        Some(tls) => match timeout(HANDSHAKE, tls.accept(stream)).await {
                            Ok(Ok(stream)) => Stream::Encrypted(Box::new(stream)),
                            _ => return,
                        },
                    };
                    let io = Io { stream, silence: Box::pin(sleep(SILENCE)), _place: place };
                    let _ = give.send((io, peer)).await;
                });
            }
        });
        Ok(Self { ready, at })
    }
}

impl axum::serve::Listener for Gate {
    type Io = Io;
    type Addr = SocketAddr;

    async fn accept(&mut self) -> (Io, SocketAddr) {
        match self.ready.recv().await {
            Some(one) => one,
            None => std::future::pending().await,
        }
    }

    fn local_addr(&self) -> io::Result<SocketAddr> {
        Ok(self.at)
    }
}

impl AsyncRead for Io {
    fn poll_read(
        mut self: Pin<&mut Self>,
        cx: &mut Context<'_>,
        buf: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        let before = buf.filled().len();
        let polled = match &mut self.stream {
            Stream::Plain(s) => Pin::new(s).poll_read(cx, buf),
            Stream::Encrypted(s) => Pin::new(s).poll_read(cx, buf),
        };
        match polled {
            Poll::Ready(done) => {
                if buf.filled().len() > before {
                    self.silence.as_mut().reset(Instant::now() + SILENCE);
                }
                Poll::Ready(done)
            }
            Poll::Pending if self.silence.as_mut().poll(cx).is_ready() => {
                Poll::Ready(Err(io::ErrorKind::TimedOut.into()))
            }
            Poll::Pending => Poll::Pending,
        }
    }
}

impl AsyncWrite for Io {
    fn poll_write(mut self: Pin<&mut Self>, cx: &mut Context<'_>, buf: &[u8]) -> Poll<io::Result<usize>> {
        match &mut self.stream {
            Stream::Plain(s) => Pin::new(s).poll_write(cx, buf),
            Stream::Encrypted(s) => Pin::new(s).poll_write(cx, buf),
        }
    }
    fn poll_flush(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        match &mut self.stream {
            Stream::Plain(s) => Pin::new(s).poll_flush(cx),
            Stream::Encrypted(s) => Pin::new(s).poll_flush(cx),
        }
    }
    fn poll_shutdown(mut self: Pin<&mut Self>, cx: &mut Context<'_>) -> Poll<io::Result<()>> {
        match &mut self.stream {
            Stream::Plain(s) => Pin::new(s).poll_shutdown(cx),
            Stream::Encrypted(s) => Pin::new(s).poll_shutdown(cx),
        }
    }
}
