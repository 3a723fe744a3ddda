//! Devices over real QUIC on the loopback network, and the same driver over TCP.

use std::net::{Ipv4Addr, SocketAddr};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use ligule_sync::frame::{PhotoWanted, RefuseCode};
use ligule_sync::ticket::Ticket;
use ligule_sync::{PhotoHash, PhotoStore, Role, Session, StoreError, SyncError};
use ligule_testkit::crew::{DocStore, NOW, crew, device, key, local};
use ligule_testkit::photos::PhotoBox;
use ligule_transport::{
    Node, NodeOptions, OpenPhotos, ServeEvent, Service, SharedDesk, SharedStore, Stores, Target, TransportError,
    run_photos, run_session,
};
use tokio::sync::{mpsc, oneshot};

type Shared = Arc<Mutex<DocStore>>;

async fn node(number: u8) -> Node {
    let listen = vec![SocketAddr::from((Ipv4Addr::LOCALHOST, 0))];
    Node::bind(NodeOptions {
        key: key(number),
        listen,
        program: "0.1.0".to_owned(),
        clock: || ligule_testkit::crew::NOW,
    })
    .await
    .unwrap()
}

fn shared(store: DocStore) -> Shared {
    Arc::new(Mutex::new(store))
}

/// Records and no photos.
fn records(store: &Shared) -> Stores {
    Stores { records: Arc::clone(store) as SharedStore, photos: None }
}

/// A node that serves, what it tells, and how to end it.
struct Served {
    target: Target,
    events: mpsc::UnboundedReceiver<ServeEvent>,
    stop: oneshot::Sender<()>,
    task: tokio::task::JoinHandle<()>,
}

impl Served {
    async fn start(number: u8, store: &Shared) -> Self {
        Self::with_photos(number, store, None).await
    }

    async fn with_photos(number: u8, store: &Shared, photos: Option<OpenPhotos>) -> Self {
        let node = node(number).await;
        let target = Target { device: node.device(), addresses: node.sockets() };
        let (sender, events) = mpsc::unbounded_channel();
        let (stop, stopped) = oneshot::channel();
        let service = Service {
            stores: Stores { photos, ..records(store) },
            desk: Some(Arc::clone(store) as SharedDesk),
            events: sender,
        };
        let task = tokio::spawn(async move {
            node.serve(service, async { stopped.await.unwrap() }).await;
            node.close().await;
        });
        Self { target, events, stop, task }
    }

    async fn end(self) {
        self.stop.send(()).unwrap();
        self.task.await.unwrap();
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn three_devices_come_to_hold_the_same_over_quic() {
    let stores: Vec<Shared> = (1..=3).map(|number| shared(DocStore::new(number, crew(3)))).collect();
    for (number, store) in (0..).zip(&stores) {
        for field in 0..20 {
            store.lock().unwrap().record(field + number);
        }
    }
    let mut served = Served::start(1, &stores[0]).await;
    let (second, third) = (node(2).await, node(3).await);
    // Both at once, then the second again for what the third brought.
    let (a, b) = tokio::join!(
        second.sync_with(&served.target, records(&stores[1])),
        third.sync_with(&served.target, records(&stores[2]))
    );
    assert!(a.unwrap().records.changes_out >= 20 && b.unwrap().records.changes_out >= 20);
    third.sync_with(&served.target, records(&stores[2])).await.unwrap();
    second.sync_with(&served.target, records(&stores[1])).await.unwrap();
    let heads: Vec<_> = stores.iter().map(|store| store.lock().unwrap().heads()).collect();
    assert!(heads[0] == heads[1] && heads[1] == heads[2]);
    assert_eq!(heads[0].len(), 22);
    for _ in 0..4 {
        assert!(matches!(served.events.recv().await, Some(ServeEvent::Synced { .. })));
    }
    second.close().await;
    third.close().await;
    served.end().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_stranger_is_refused_and_gets_nothing() {
    let member = shared(DocStore::new(1, crew(2)));
    member.lock().unwrap().record(1);
    let mut served = Served::start(1, &member).await;
    let stranger = shared(DocStore::new(9, crew(2)));
    let node = node(9).await;
    let error = node.sync_with(&served.target, records(&stranger)).await.unwrap_err();
    assert!(matches!(&error, TransportError::Sync(SyncError::Refused { code: RefuseCode::NotMember })), "{error}");
    assert!(stranger.lock().unwrap().docs.is_empty());
    let event = served.events.recv().await.unwrap();
    assert!(
        matches!(event, ServeEvent::Refused { device: refused, code: RefuseCode::NotMember } if refused == device(9))
    );
    node.close().await;
    served.end().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_ticket_admits_a_device_once_and_it_syncs_at_once() {
    let inviter = shared(DocStore::new(1, crew(1)));
    inviter.lock().unwrap().record(1);
    let mut served = Served::start(1, &inviter).await;
    let ticket = Ticket {
        crew: crew(1).crew(),
        crew_name: Some("Morning crew".to_owned()),
        inviter: served.target.device,
        addresses: served.target.addresses.clone(),
        secret: [7; 16],
        expires: NOW + 900_000,
    };
    inviter.lock().unwrap().invite(&ticket);
    let ticket: Ticket = ticket.to_string().parse().unwrap();
    let joiner = node(2).await;
    let joined = joiner.join(&ticket, "person 2").await;
    assert_eq!(joined.clock_ahead, Some(0));
    let log = joined.log.unwrap();
    let event = served.events.recv().await;
    assert!(
        matches!(&event, Some(ServeEvent::Joined { person, clock_ahead: Some(0), .. }) if person == "person 2"),
        "{event:?}"
    );
    let store = shared(DocStore::new(2, log));
    joiner.sync_with(&served.target, records(&store)).await.unwrap();
    assert_eq!(store.lock().unwrap().heads(), inviter.lock().unwrap().heads());

    let other = node(3).await;
    let refused = other.join(&ticket, "person 3").await;
    assert_eq!(refused.clock_ahead, Some(0), "told with a refusal too");
    let error = refused.log.unwrap_err();
    assert!(error.to_string().contains("ticket is unknown, already used or expired"), "{error}");
    assert_eq!(inviter.lock().unwrap().log.members().len(), 2);
    joiner.close().await;
    other.close().await;
    served.end().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn nobody_there_is_told_within_six_seconds() {
    // A socket that is bound and never answers.
    let silent = std::net::UdpSocket::bind((Ipv4Addr::LOCALHOST, 0)).unwrap();
    let target = Target { device: device(1), addresses: vec![silent.local_addr().unwrap()] };
    let store = shared(DocStore::new(2, crew(2)));
    let node = node(2).await;
    let begun = Instant::now();
    let error = node.sync_with(&target, records(&store)).await.unwrap_err();
    assert!(begun.elapsed() < Duration::from_secs(6), "{:?}", begun.elapsed());
    assert!(matches!(error, TransportError::NoAnswer { .. }), "{error}");
    assert!(error.to_string().contains("same network"), "{error}");
    let error = node.sync_with(&Target { addresses: Vec::new(), ..target }, records(&store)).await.unwrap_err();
    assert!(matches!(error, TransportError::NoAddress { .. }), "{error}");
    node.close().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_typed_address_without_an_id_finds_the_member_there() {
    let first = shared(DocStore::new(1, crew(4)));
    first.lock().unwrap().record(1);
    let served = Served::start(1, &first).await;
    let store = shared(DocStore::new(2, crew(4)));
    let node = node(2).await;
    let address = served.target.addresses[0];
    let begun = Instant::now();
    let (found, _) =
        node.sync_at(address, &[device(2), device(3), device(4), device(1)], records(&store)).await.unwrap();
    assert_eq!(found, device(1));
    assert!(begun.elapsed() < Duration::from_secs(5), "{:?}", begun.elapsed());
    assert_eq!(store.lock().unwrap().heads(), first.lock().unwrap().heads());
    let error = node.sync_at(address, &[device(3), device(4)], records(&store)).await.unwrap_err();
    assert!(matches!(error, TransportError::NoMemberThere { tried: 2, .. }), "{error}");
    node.close().await;
    served.end().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn the_same_driver_runs_over_tcp_and_a_cut_link_is_taken_up_again() {
    let (a, b) = (shared(DocStore::new(1, crew(2))), shared(DocStore::new(2, crew(2))));
    for field in 0..30 {
        a.lock().unwrap().record(field);
        b.lock().unwrap().record(field + 10);
    }
    let listener = tokio::net::TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).await.unwrap();
    let address = listener.local_addr().unwrap();
    // First, a link that dies after 6 kB in one direction.
    for limit in [6_000, u64::MAX] {
        let (dialled, accepted) = tokio::join!(tokio::net::TcpStream::connect(address), listener.accept());
        let (reader, writer) = dialled.unwrap().into_split();
        let reader = tokio::io::AsyncReadExt::take(reader, limit);
        let one = run_session(reader, writer, Session::new(Role::Initiator, local(&crew(2), 1), device(2)), a.clone());
        let (reader, writer) = accepted.unwrap().0.into_split();
        let two = run_session(reader, writer, Session::new(Role::Responder, local(&crew(2), 2), device(1)), b.clone());
        let (one, two) = tokio::join!(one, two);
        if limit < u64::MAX {
            assert!(matches!(one, Err(TransportError::Broken { .. })), "{one:?}");
            assert!(two.is_err());
        } else {
            let (one, two) = (one.unwrap(), two.unwrap());
            assert_eq!((one.bytes_in, one.bytes_out), (two.bytes_out, two.bytes_in));
        }
    }
    assert_eq!(a.lock().unwrap().heads(), b.lock().unwrap().heads());
    assert_eq!(a.lock().unwrap().docs.len(), 40);
}

/// A box of photos as a device has it from exchange to exchange.
#[derive(Clone, Default)]
struct SharedBox(Arc<Mutex<PhotoBox>>);

impl SharedBox {
    fn of(photos: PhotoBox) -> Self {
        Self(Arc::new(Mutex::new(photos)))
    }

    fn open(&self) -> OpenPhotos {
        let shared = self.clone();
        Arc::new(move || Box::new(shared.clone()))
    }
}

impl PhotoStore for SharedBox {
    fn missing(&mut self) -> Result<Vec<PhotoWanted>, StoreError> {
        self.0.lock().unwrap().missing()
    }

    fn open(&mut self, hash: PhotoHash) -> Result<Option<u64>, StoreError> {
        self.0.lock().unwrap().open(hash)
    }

    fn read(&mut self, at: u64, most: usize) -> Result<Vec<u8>, StoreError> {
        self.0.lock().unwrap().read(at, most)
    }

    fn begin(&mut self, hash: PhotoHash, size: u64, from: u64) -> Result<bool, StoreError> {
        self.0.lock().unwrap().begin(hash, size, from)
    }

    fn write(&mut self, bytes: &[u8]) -> Result<(), StoreError> {
        self.0.lock().unwrap().write(bytes)
    }

    fn keep(&mut self) -> Result<bool, StoreError> {
        self.0.lock().unwrap().keep()
    }

    fn break_off(&mut self) {
        self.0.lock().unwrap().break_off();
    }
}

impl Drop for SharedBox {
    fn drop(&mut self) {
        // As a file is closed with its process.
        self.0.lock().unwrap().break_off();
    }
}

fn pictures() -> Vec<Vec<u8>> {
    (1..=6_u8).map(|number| vec![number; 400_000 * usize::from(number)]).collect()
}

#[tokio::test(flavor = "multi_thread")]
async fn photos_follow_the_records_to_members_alone_and_where_both_want_them() {
    let (first, second) = (shared(DocStore::new(1, crew(2))), shared(DocStore::new(2, crew(2))));
    first.lock().unwrap().record(1);
    let holder = SharedBox::of(PhotoBox::holding(&pictures()));
    let mut served = Served::with_photos(1, &first, Some(holder.open())).await;
    let other = SharedBox::of(PhotoBox::naming(&pictures()));

    let stranger = node(9).await;
    let strange = SharedBox::of(PhotoBox::naming(&pictures()));
    let store = shared(DocStore::new(9, crew(2)));
    stranger.sync_with(&served.target, Stores { photos: Some(strange.open()), ..records(&store) }).await.unwrap_err();
    assert!(strange.0.lock().unwrap().files.is_empty());
    stranger.close().await;
    assert!(matches!(served.events.recv().await, Some(ServeEvent::Refused { .. })));

    let node = node(2).await;
    let without = node.sync_with(&served.target, records(&second)).await.unwrap();
    assert_eq!((without.records.changes_in, without.photos), (1, None));
    let with = node.sync_with(&served.target, Stores { photos: Some(other.open()), ..records(&second) }).await.unwrap();
    let photos = with.photos.unwrap();
    assert_eq!((photos.asked, photos.received, photos.failures), (6, 6, Vec::new()));
    assert_eq!(other.0.lock().unwrap().files, holder.0.lock().unwrap().files);
    assert!(
        matches!(served.events.recv().await, Some(ServeEvent::Synced { exchanged, .. }) if exchanged.photos.is_none())
    );
    let event = served.events.recv().await;
    assert!(
        matches!(&event, Some(ServeEvent::Synced { exchanged, .. }) if exchanged.photos.as_ref().is_some_and(|photos| photos.sent == 6)),
        "{event:?}"
    );
    node.close().await;
    served.end().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn photos_over_a_link_that_dies_again_and_again_come_in_the_end() {
    let holder = SharedBox::of(PhotoBox::holding(&pictures()));
    let other = SharedBox::of(PhotoBox::naming(&pictures()));
    let listener = tokio::net::TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).await.unwrap();
    let address = listener.local_addr().unwrap();
    let mut broken = 0;
    // 8.4 MB in all, a million bytes a time: none of what came is asked for again.
    for _ in 0..12 {
        let (dialled, accepted) = tokio::join!(tokio::net::TcpStream::connect(address), listener.accept());
        let (reader, writer) = dialled.unwrap().into_split();
        let reader = tokio::io::AsyncReadExt::take(reader, 1_000_000);
        let one = run_photos(reader, writer, other.open()());
        let (reader, writer) = accepted.unwrap().0.into_split();
        let two = run_photos(reader, writer, holder.open()());
        let (one, _) = tokio::join!(one, two);
        broken += usize::from(!one.failures.is_empty());
    }
    assert!(broken >= 8, "{broken}");
    assert_eq!(other.0.lock().unwrap().files, holder.0.lock().unwrap().files);
}

/// Prints what an exchange costs: `cargo test -p ligule-transport --test network -- --ignored --nocapture`.
#[tokio::test(flavor = "multi_thread")]
#[ignore = "a measurement, not a check"]
async fn measure() {
    let (a, b) = (shared(DocStore::new(1, crew(2))), shared(DocStore::new(2, crew(2))));
    for round in 0..5_000_u32 {
        a.lock().unwrap().record(u8::try_from(round % 100).unwrap());
    }
    let served = Served::start(1, &a).await;
    let node = node(2).await;
    for what in ["5,000 changes in 100 documents", "nothing changed", "500 more changes", "nothing changed"] {
        if what.starts_with("500") {
            for _ in 0..500 {
                a.lock().unwrap().record(1);
            }
        }
        let begun = Instant::now();
        let report = node.sync_with(&served.target, records(&b)).await.unwrap().records;
        let (ms, got, sent) = (begun.elapsed().as_millis(), report.bytes_in, report.bytes_out);
        println!("{what}: {ms} ms, {got} B in, {sent} B out, {} rounds", report.rounds);
    }
    node.close().await;
    served.end().await;
}

/// Prints how fast photos travel between two devices that keep them in memory:
/// `cargo test --release -p ligule-transport --test network -- measure_photos --ignored --nocapture`.
#[tokio::test(flavor = "multi_thread")]
#[ignore = "a measurement, not a check"]
async fn measure_photos() {
    for (count, length) in [(1, 200_000_000), (200, 1_000_000)] {
        let pictures: Vec<Vec<u8>> = (0..count).map(|number| vec![number; length]).collect();
        let holder = SharedBox::of(PhotoBox::holding(&pictures));
        let other = SharedBox::of(PhotoBox::naming(&pictures));
        let served = Served::with_photos(1, &shared(DocStore::new(1, crew(2))), Some(holder.open())).await;
        let node = node(2).await;
        let store = shared(DocStore::new(2, crew(2)));
        let begun = Instant::now();
        let stores = Stores { photos: Some(other.open()), ..records(&store) };
        let photos = node.sync_with(&served.target, stores).await.unwrap().photos.unwrap();
        let seconds = begun.elapsed().as_secs_f64();
        assert_eq!((photos.received, photos.failures), (u64::from(count), Vec::new()));
        println!("{count} of {length} bytes: {seconds:.2} s, {:.0} MB/s", photos.bytes_in as f64 / seconds / 1e6);
        node.close().await;
        served.end().await;
    }
}
