//! Records travel between devices of a crew by file and by network, and to nobody else.

use std::net::UdpSocket;
use std::time::{Duration, Instant};

use ligule_sync::ticket::Ticket;
use ligule_testkit::Place;

use crate::device::{Device, Waiting};

/// How long a person may wait for the word that nobody answers.
const PATIENCE: Duration = Duration::from_secs(12);

/// Two devices of one crew; the first has a field with two counts.
fn two<'a>(place: &'a Place) -> (Device<'a>, Device<'a>) {
    let (imke, tomas) = (Device::with_field(place, "imke"), Device::new(place, "tomas"));
    imke.counts(20, 29);
    imke.counts(21, 30);
    imke.invites(&tomas);
    (imke, tomas)
}

/// A port on which nobody listens; it was free a moment ago.
fn free_port() -> u16 {
    let socket = UdpSocket::bind("127.0.0.1:0").expect("loopback has a free port");
    socket.local_addr().expect("it is bound").port()
}

#[test]
fn a_bundle_carries_everything() {
    let place = Place::new();
    let (imke, tomas) = two(&place);
    assert_eq!(tomas.lists(), "");
    imke.does(&["bundle", "write", "monday.bundle"]);
    let said = tomas.does(&["bundle", "read", "monday.bundle"]);
    assert!(said.contains("from imke"), "{said}");
    assert_eq!(imke.holds(), tomas.holds());
    assert_eq!(tomas.observations().len(), 2);
    // Reading it again adds nothing, and back it goes with a correction.
    let said = tomas.does(&["bundle", "read", "monday.bundle"]);
    assert!(said.contains(": 0 new changes"), "{said}");
    let key = tomas.counts(22, 31);
    tomas.does(&["amend", &key, "--plants", "32"]);
    tomas.does(&["bundle", "write", "tuesday.bundle"]);
    imke.does(&["bundle", "read", "tuesday.bundle"]);
    assert_eq!(imke.holds(), tomas.holds());
    let left: Vec<_> = std::fs::read_dir(place.folder()).expect("the folder can be read").flatten().collect();
    assert!(left.iter().all(|file| !file.file_name().to_string_lossy().ends_with(".part")), "{left:?}");
}

#[test]
fn a_strangers_bundle_is_refused_either_way() {
    let place = Place::new();
    let (imke, _) = two(&place);
    let stranger = Device::with_field(&place, "stranger");
    stranger.counts(20, 40);
    let (ours, theirs) = (imke.holds(), stranger.holds());
    imke.does(&["bundle", "write", "ours.bundle"]);
    stranger.does(&["bundle", "write", "theirs.bundle"]);
    for (device, file) in [(&imke, "theirs.bundle"), (&stranger, "ours.bundle")] {
        let answer = device.asks(&["bundle", "read", file]).exits(5);
        assert!(answer.stderr.contains(file) && answer.stderr.contains("crew"), "{}", answer.stderr);
        assert!(answer.stderr.contains("nothing was taken in"), "{}", answer.stderr);
        // Written again it would be no better.
        assert!(answer.stderr.contains("belongs to another crew"), "{}", answer.stderr);
        assert!(answer.stderr.contains("invite this device"), "{}", answer.stderr);
        assert!(!answer.stderr.contains("written again"), "{}", answer.stderr);
    }
    assert_eq!((imke.holds(), stranger.holds()), (ours, theirs));
}

#[test]
fn a_stranger_who_knows_the_address_gets_nothing() {
    let place = Place::new();
    let (imke, tomas) = two(&place);
    let stranger = Device::with_field(&place, "stranger");
    let before = stranger.holds();
    let serving = Waiting::serving(&imke, "1");
    // With the device's identifier the stranger gets as far as to say who he is.
    let crew = imke.does(&["crew", "show", "--format", "ndjson"]);
    let line = crew.lines().find(|line| line.contains("this device")).expect("it lists itself");
    let line: serde_json::Value = serde_json::from_str(line).expect("a line is an object");
    let address = format!("{}#{}", serving.address(), line["device"].as_str().expect("an identifier"));
    for address in [serving.address(), &address] {
        let answer = stranger.asks(&["sync", "with", address]).exits(5);
        assert!(answer.stderr.starts_with("error: "), "{}", answer.stderr);
        assert_eq!(stranger.holds(), before);
    }
    // The refusal did not use up the one exchange that was asked for.
    tomas.does(&["sync", "with", serving.address()]);
    let told = serving.ends();
    assert!(told.stderr.contains("was refused") && told.stderr.contains("got nothing"), "{}", told.stderr);
    assert_eq!(imke.holds(), tomas.holds());
}

#[test]
fn a_cut_or_flipped_bundle_gives_what_is_whole_and_says_what_is_not() {
    let place = Place::new();
    let (imke, tomas) = two(&place);
    for season in [2023, 2024, 2025] {
        let at = format!("{season}-05-20T12:00");
        imke.does(&["record", "stand-count", "north-40", "--hoop", "30in", "--plants", "18", "--at", &at]);
    }
    imke.does(&["bundle", "write", "whole.bundle"]);
    let whole = std::fs::read(place.folder().join("whole.bundle")).expect("it was written");
    let mut partly = 0;
    for (name, end, flipped) in [
        ("cut-in-half", whole.len() / 2, None),
        ("cut-at-the-end", whole.len() - 3, None),
        ("flipped", whole.len(), Some(whole.len() * 2 / 3)),
    ] {
        let mut bytes = whole[..end].to_vec();
        if let Some(place) = flipped {
            bytes[place] ^= 0x10;
        }
        std::fs::write(place.folder().join(name), bytes).expect("the folder can be written");
        let person = format!("reader of {name}");
        let fresh = Device::new(&place, &person);
        imke.invites(&fresh);
        let answer = fresh.asks(&["bundle", "read", name]);
        assert_eq!(answer.code, Some(3), "{answer:?}");
        assert!(answer.stdout.contains(name) && answer.stdout.contains("documents"), "{answer:?}");
        assert!(answer.stderr.contains("not taken in: "), "it says what is missing: {answer:?}");
        assert!(!answer.stderr.contains("panicked"), "{answer:?}");
        partly += usize::from(!fresh.lists().is_empty());
        fresh.does(&["journal", "verify"]);
        // How to go on: the whole file fills the gaps.
        fresh.does(&["bundle", "read", "whole.bundle"]);
        assert_eq!(fresh.lists(), imke.lists());
    }
    assert!(partly > 0, "some of them held whole documents before the damage");
    // What is no bundle at all.
    let before = tomas.holds();
    for (name, bytes) in [("empty", &b""[..]), ("text", b"Monday's records"), ("beginning", &whole[..20])] {
        std::fs::write(place.folder().join(name), bytes).expect("the folder can be written");
        let answer = tomas.asks(&["bundle", "read", name]).exits(5);
        assert!(answer.stderr.contains(name), "{}", answer.stderr);
        assert!(!answer.stderr.contains("panicked"), "{}", answer.stderr);
    }
    assert_eq!(tomas.holds(), before);
}

#[test]
fn an_invitation_admits_one_device_once() {
    let place = Place::new();
    let (imke, tomas) = (Device::with_field(&place, "imke"), Device::new(&place, "tomas"));
    let late = Device::new(&place, "late");
    let before = late.holds();
    let listen = format!("127.0.0.1:{}", free_port());
    let inviting = Waiting::start(&imke, &["crew", "invite", "--listen", &listen]);
    let used = inviting.first_line.clone();
    tomas.does(&["crew", "join", &used]);
    let told = inviting.ends();
    assert!(told.stdout.contains("tomas joined with device"), "{}", told.stdout);
    // The inviter waits again on the same address, for another device.
    let again = Waiting::start(&imke, &["crew", "invite", "--listen", &listen]);
    assert_ne!(again.first_line, used);
    let answer = late.asks(&["crew", "join", &used]).exits(5);
    assert!(answer.stderr.contains("used"), "{}", answer.stderr);
    assert_eq!(late.holds(), before);
    late.does(&["crew", "join", &again.first_line]);
    again.ends();
    assert_eq!(imke.does(&["crew", "show", "--format", "ndjson"]).lines().count(), 3);
}

/// A device that was taken out gets nothing more from whoever knows of it; what it has it keeps.
#[test]
fn a_removed_device_gets_nothing_more() {
    let place = Place::new();
    let (imke, tomas) = two(&place);
    let ruth = Device::new(&place, "ruth");
    imke.invites(&ruth);
    tomas.exchanges_with(&imke);
    ruth.exchanges_with(&imke);
    let had = tomas.lists();
    assert_eq!(had, imke.lists());

    let before = imke.does(&["crew", "show"]);
    for (who, named) in [("Tomas", "did you mean `tomas`?"), ("imke", "cannot remove itself"), ("tom", "goes by `tom`")]
    {
        let refused = imke.asks(&["crew", "remove", who]).exits(2);
        assert!(refused.stderr.contains(named), "{who}: {}", refused.stderr);
    }
    assert_eq!(imke.does(&["crew", "show"]), before, "nothing was written");
    let said = imke.does(&["crew", "remove", "tomas"]);
    assert!(said.contains("removed tomas with device") && said.contains("cannot be taken back"), "{said}");
    let crew = imke.does(&["crew", "show", "--format", "csv"]);
    assert!(crew.lines().any(|line| line.starts_with("tomas,") && line.ends_with(",removed")), "{crew}");
    let again = imke.asks(&["crew", "remove", "tomas"]).exits(2);
    assert!(again.stderr.contains("already"), "{}", again.stderr);

    // The one who removed it refuses it, and it keeps what it had. Both are told why, and how it can come back.
    imke.counts(23, 33);
    let inviting = Waiting::start(&imke, &["crew", "invite", "--listen", "127.0.0.1:0"]);
    let again = tomas.asks(&["crew", "join", &inviting.first_line]).exits(2);
    drop(inviting);
    assert!(again.stderr.contains("`ligule sync with` a member first"), "it cannot know yet: {}", again.stderr);
    let gets_nothing = |from: &Device<'_>| {
        let serving = Waiting::serving(from, "1");
        let refused = tomas.asks(&["sync", "with", serving.address()]).exits(5);
        assert!(refused.stderr.starts_with("error: this device was removed from the crew"), "{}", refused.stderr);
        assert!(refused.stderr.contains("`ligule crew join INVITATION` here"), "{}", refused.stderr);
        let told = serving.tells_next();
        assert!(told.contains("imke removed the device ") && told.contains(" of tomas from the crew at 20"), "{told}");
        assert!(told.contains("`ligule crew invite` here"), "{told}");
        assert_eq!(tomas.lists(), had);
    };
    gets_nothing(&imke);
    // So does a third one, once it has heard of it; by a file neither.
    ruth.exchanges_with(&imke);
    gets_nothing(&ruth);
    tomas.does(&["bundle", "write", "from-tomas.bundle"]);
    let refused = ruth.asks(&["bundle", "read", "from-tomas.bundle"]).exits(5).stderr;
    assert!(refused.contains("imke removed the device ") && refused.contains("invite it again"), "{refused}");
    assert!(!refused.contains("written again"), "that would not help: {refused}");
    // A member that dials it gets nothing either.
    let before = ruth.holds();
    let serving = Waiting::serving(&tomas, "1");
    let line = crew.lines().find(|line| line.starts_with("tomas,")).expect("it is listed");
    let device = line.split(',').nth(1).expect("its identifier");
    let refused = ruth.asks(&["sync", "with", &format!("{}#{device}", serving.address())]).exits(5).stderr;
    assert!(refused.contains("imke removed the device "), "{refused}");
    assert_eq!(ruth.holds(), before);

    // Invited again, it hands over what it recorded meanwhile, also by a file, and gets the rest.
    let meanwhile = tomas.counts(24, 30);
    let crew = tomas.does(&["crew", "show", "--format", "csv"]);
    assert!(crew.lines().any(|line| line.starts_with("tomas,") && line.ends_with(",removed")), "{crew}");
    imke.invites(&tomas);
    let crew = tomas.does(&["crew", "show", "--format", "csv"]);
    assert!(crew.lines().any(|line| line.starts_with("tomas,") && line.ends_with(",this device")), "{crew}");
    tomas.does(&["bundle", "write", "again.bundle"]);
    ruth.does(&["bundle", "read", "again.bundle"]);
    assert!(ruth.lists().contains(&meanwhile));
    tomas.exchanges_with(&imke);
    assert_eq!(tomas.lists(), imke.lists());
    assert!(imke.lists().contains(&meanwhile));
}

/// What went wrong when two devices were to meet is said in the language of whoever stands there.
#[test]
fn why_devices_did_not_meet_is_said_in_spanish_too() {
    let place = Place::new();
    let (imke, tomas) = two(&place);
    imke.does(&["crew", "set", "language", "es"]);
    tomas.exchanges_with(&imke);
    imke.does(&["crew", "remove", "tomas"]);
    let serving = Waiting::serving(&imke, "1");
    let refused = tomas.asks(&["sync", "with", serving.address()]).exits(5);
    assert!(refused.stderr.contains("este dispositivo fue sacado del equipo"), "{}", refused.stderr);
    let refused = imke.asks(&["sync", "with", serving.address()]).exits(5);
    assert!(refused.stderr.contains("no es ninguno de los otros"), "{}", refused.stderr);
    // A port that nobody listens on: it was free a moment ago.
    let free = std::net::UdpSocket::bind("127.0.0.1:0").and_then(|socket| socket.local_addr()).expect("a free port");
    let nobody = tomas.asks(&["sync", "with", &free.to_string()]).exits(5);
    assert!(nobody.stderr.contains(&format!("sin respuesta de {free}")), "{}", nobody.stderr);
}

#[test]
fn a_mangled_invitation_is_told_at_once_and_an_expired_one_by_its_time() {
    let place = Place::new();
    let (imke, late) = (Device::with_field(&place, "imke"), Device::new(&place, "late"));
    let before = late.holds();
    let inviting = Waiting::start(&imke, &["crew", "invite", "--listen", "127.0.0.1:0"]);
    let ticket = &inviting.first_line;
    let mut letters: Vec<char> = ticket.chars().collect();
    let middle = letters.len() / 2;
    letters[middle] = if letters[middle] == 'q' { 'p' } else { 'q' };
    let changed: String = letters.into_iter().collect();
    for wrong in [&changed, &ticket[..ticket.len() - 1], &ticket[..20], "", "ligule1", "a letter"] {
        let answer = late.asks(&["crew", "join", wrong]).exits(2);
        assert!(answer.stderr.contains("ticket") && answer.stderr.contains("ligule crew invite"), "{}", answer.stderr);
    }
    // Somebody else's secret: the inviter does not know it, and waits on.
    let mut forged: Ticket = ticket.parse().expect("it is a ticket");
    forged.secret[0] ^= 1;
    let answer = late.asks(&["crew", "join", &forged.to_string()]).exits(5);
    assert!(!answer.stderr.contains("panicked"), "{}", answer.stderr);
    assert_eq!(late.holds(), before);
    late.does(&["crew", "join", ticket]);
    let mut expired: Ticket = ticket.parse().expect("it is a ticket");
    inviting.ends();
    // It expires by the inviter's clock; where the inviter waits no longer, this device's own tells.
    expired.expires -= 3_600_000;
    let later = Device::new(&place, "later");
    let answer = later.asks(&["crew", "join", &expired.to_string()]).exits(5);
    assert!(answer.stderr.contains("expired 45 min ago") || answer.stderr.contains("expired 44 min ago"), "{answer:?}");
    assert!(answer.stderr.contains("a new one"), "{answer:?}");
}

#[test]
fn an_address_where_nobody_waits_is_told_soon() {
    let place = Place::new();
    let (_, tomas) = two(&place);
    let before = tomas.holds();
    let address = format!("127.0.0.1:{}", free_port());
    let began = Instant::now();
    let answer = tomas.asks(&["sync", "with", &address]).exits(5);
    assert!(began.elapsed() < PATIENCE, "it took {:?}", began.elapsed());
    assert!(answer.stderr.contains(&address) && answer.stderr.contains("check that"), "{}", answer.stderr);
    for (wrong, named) in [("north", "`north`"), ("127.0.0.1", "port"), ("127.0.0.1:7010#8f3a", "64 hex digits")] {
        let answer = tomas.asks(&["sync", "with", wrong]).exits(2);
        assert!(answer.stderr.contains(named) && answer.stderr.contains("IP:PORT"), "{}", answer.stderr);
    }
    assert_eq!(tomas.holds(), before);
}

#[test]
fn records_made_before_joining_come_along() {
    let place = Place::new();
    let (imke, tomas) = (Device::with_field(&place, "imke"), Device::new(&place, "tomas"));
    tomas.does(&[
        "field",
        "add",
        "south",
        "--grower",
        "Sorrel Creek",
        "--region",
        "US-IA",
        "--zone",
        "America/Chicago",
    ]);
    let record = ["record", "stand-count", "south", "--hoop", "30in", "--plants", "18", "--at", "2026-05-20T08:00"];
    tomas.does(&record);
    let said = tomas.does(&record);
    let key = said.strip_prefix("recorded ").and_then(|rest| rest.split_once(':')).expect("it names the key").0;
    tomas.does(&["amend", key, "--plants", "17"]);
    let before = tomas.lists();
    imke.invites(&tomas);
    assert_eq!(tomas.lists(), before);
    tomas.does(&["journal", "verify"]);
    let history = tomas.does(&["history", key, "--format", "ndjson"]);
    tomas.exchanges_with(&imke);
    assert_eq!(imke.lists(), before, "the crew has them now");
    assert_eq!(imke.does(&["history", key, "--format", "ndjson"]), history, "with what they were before");
    assert_eq!(imke.holds(), tomas.holds());
}

/// A device that was put back from yesterday's copy writes with an identifier of its own: what it wrote between the copy
/// and the loss lives on in the crew and comes back.
#[test]
fn a_journal_put_back_from_a_copy_loses_nothing() {
    let place = Place::new();
    let (imke, tomas) = two(&place);
    let (journal, copy) = (imke.folder().join("journal.sqlite"), place.folder().join("yesterday.sqlite"));
    std::fs::copy(&journal, &copy).expect("it can be copied");
    imke.counts(22, 31);
    let lost = imke.counts(22, 32);
    tomas.exchanges_with(&imke);
    std::fs::copy(&copy, &journal).expect("it can be put back");
    assert_eq!(imke.observations().len(), 2);
    // As many changes as were lost, and one more.
    (1..=3).for_each(|plants| drop(imke.counts(23, plants)));
    tomas.exchanges_with(&imke);
    assert_eq!(tomas.observations().len(), 7);
    assert_eq!(imke.holds(), tomas.holds());
    assert!(imke.lists().contains(&lost), "the crew had it");
    // The same journal in use twice, on a second machine.
    std::fs::create_dir(place.folder().join("twin")).expect("the folder can be made");
    std::fs::copy(&copy, place.folder().join("twin/journal.sqlite")).expect("it can be copied");
    let twin = Device::that_is_there(&place, "twin");
    (1..=3).for_each(|plants| drop(twin.counts(24, plants)));
    twin.does(&["bundle", "write", "twin.bundle"]);
    tomas.does(&["bundle", "read", "twin.bundle"]);
    assert_eq!(tomas.observations().len(), 10);
    for device in [&imke, &twin] {
        device.exchanges_with(&tomas);
        assert_eq!(device.lists(), tomas.lists());
        device.does(&["journal", "verify"]);
    }
}

/// A small generator, so that a run can be repeated by its seed.
struct Random(u64);

impl Random {
    fn below(&mut self, end: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 % end as u64).expect("less than a usize")
    }
}

#[test]
fn three_devices_with_edits_at_random_agree_after_exchanges() {
    let seed = std::env::var("LIGULE_SEED").ok().and_then(|seed| seed.parse().ok()).unwrap_or(0x1191_7e5e_ed01);
    println!("seed {seed}; set LIGULE_SEED to repeat");
    let mut random = Random(seed);
    let place = Place::new();
    let crew = [Device::with_field(&place, "imke"), Device::new(&place, "tomas"), Device::new(&place, "noor")];
    let mut keys: Vec<String> = (0..4).map(|n| crew[0].counts(20, n)).collect();
    crew[0].invites(&crew[1]);
    crew[0].invites(&crew[2]);
    crew[1].exchanges_with(&crew[0]);
    crew[2].exchanges_with(&crew[0]);
    let mut void: Vec<Vec<String>> = vec![Vec::new(); 3];
    for _ in 0..2 {
        let known = keys.clone();
        for (number, device) in crew.iter().enumerate() {
            for _ in 0..6 {
                let key = &known[random.below(known.len())];
                let plants = u32::try_from(random.below(60)).expect("small");
                if void[number].contains(key) {
                    continue;
                }
                match random.below(4) {
                    0 => keys.push(device.counts(21, plants)),
                    1 => {
                        device.does(&["void", key, "--why", &format!("doubted {plants}")]);
                        void[number].push(key.clone());
                    }
                    _ => drop(device.does(&["amend", key, "--plants", &plants.to_string()])),
                }
            }
        }
        // In a chain and back: what the last knows has reached the first, and the other way round.
        for (a, b) in [(1, 0), (2, 1), (1, 0)] {
            crew[a].exchanges_with(&crew[b]);
        }
        let all = void.concat();
        void.fill(all);
        assert_eq!(crew[0].holds(), crew[1].holds(), "seed {seed}");
        assert_eq!(crew[1].holds(), crew[2].holds(), "seed {seed}");
        let conflicts = crew.each_ref().map(|device| device.does(&["conflicts", "--format", "ndjson"]));
        assert!(conflicts.iter().all(|said| *said == conflicts[0]), "seed {seed}: {conflicts:?}");
    }
    assert_eq!(crew[0].observations().len(), keys.len(), "nothing is lost");
    crew.iter().for_each(|device| drop(device.does(&["journal", "verify"])));
}
