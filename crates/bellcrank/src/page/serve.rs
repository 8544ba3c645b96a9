//! Listening on loopback. Connections that are slow, stuck or too many are cut off, so that nobody else has to wait for them.

use std::future::Future as _;
use std::io;
use std::net::{Ipv4Addr, SocketAddr};
use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;

use axum::Router;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::io::{AsyncRead, AsyncWrite, ReadBuf};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::Semaphore;
use tokio::time::{Sleep, sleep};

/// Most connections at one time; the others wait.
const MOST_CONNECTIONS: usize = 256;
/// The head of a request has to be there after so long.
const HEAD: Duration = Duration::from_secs(10);
/// A peer that does not take a byte for so long is gone.
const STUCK: Duration = Duration::from_secs(20);
/// Largest head of a request, bytes.
const LARGEST_HEAD: usize = 32 << 10;

/// A listener on loopback; port 0 takes any free one.
pub(crate) fn listen(port: u16) -> io::Result<std::net::TcpListener> {
    let listener = std::net::TcpListener::bind(SocketAddr::from((Ipv4Addr::LOCALHOST, port)))?;
    listener.set_nonblocking(true)?;
    Ok(listener)
}

/// Answers requests for ever.
pub(crate) async fn serve(listener: std::net::TcpListener, router: Router) -> io::Result<()> {
    let listener = TcpListener::from_std(listener)?;
    let room = Arc::new(Semaphore::new(MOST_CONNECTIONS));
    loop {
        // The semaphore is never closed.
        let Ok(place) = Arc::clone(&room).acquire_owned().await else {
            return Ok(());
        };
        let stream = match listener.accept().await {
            Ok((stream, from)) if from.ip().is_loopback() => stream,
            Ok(_) => continue,
            Err(_) => {
                // Out of handles, most likely: others have to end first.
                sleep(Duration::from_millis(50)).await;
                continue;
            }
        };
        // Answers are small and waited for.
        let _ = stream.set_nodelay(true);
        let service = TowerToHyperService::new(router.clone());
        let connection = http1::Builder::new()
            .timer(TokioTimer::new())
            .header_read_timeout(HEAD)
            .max_buf_size(LARGEST_HEAD)
            .serve_connection(TokioIo::new(Patient::new(stream)), service);
        tokio::spawn(async move {
            // What goes wrong with one connection is no concern of the others.
            let _ = connection.await;
            drop(place);
        });
    }
}

/// A stream whose writes fail when nothing was taken for long.
struct Patient {
    stream: TcpStream,
    until: Option<Pin<Box<Sleep>>>,
}

impl Patient {
    fn new(stream: TcpStream) -> Self {
        Self {
            stream,
            until: None,
        }
    }

    fn wait<T>(
        &mut self,
        context: &mut Context<'_>,
        poll: Poll<io::Result<T>>,
    ) -> Poll<io::Result<T>> {
        if poll.is_ready() {
            self.until = None;
            return poll;
        }
        let until = self.until.get_or_insert_with(|| Box::pin(sleep(STUCK)));
        match until.as_mut().poll(context) {
            Poll::Ready(()) => Poll::Ready(Err(io::ErrorKind::TimedOut.into())),
            Poll::Pending => Poll::Pending,
        }
    }
}

impl AsyncRead for Patient {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        into: &mut ReadBuf<'_>,
    ) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_read(context, into)
    }
}

impl AsyncWrite for Patient {
    fn poll_write(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[u8],
    ) -> Poll<io::Result<usize>> {
        let poll = Pin::new(&mut self.stream).poll_write(context, bytes);
        self.wait(context, poll)
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_flush(context)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        Pin::new(&mut self.stream).poll_shutdown(context)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        let poll = Pin::new(&mut self.stream).poll_write_vectored(context, bytes);
        self.wait(context, poll)
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }
}
