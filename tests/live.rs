//! Stories of open pages that hear of changes.

use std::io::{BufRead, BufReader, Write};
use std::net::TcpStream;
use std::time::Duration;

use wetside::clock::Span;
use wetside::pulse;
use wetside::sessions::Role;

use crate::bookings::sink;
use crate::house::{Browser, House, Kind};

/// An open stream of events, read line by line.
pub struct Stream(BufReader<TcpStream>);

impl Stream {
    pub fn open(url: &str, path: &str, cookies: &str) -> Stream {
        let host = url.strip_prefix("http://").unwrap();
        let mut socket = TcpStream::connect(host).unwrap();
        socket.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
        write!(
            socket,
            "GET {path} HTTP/1.1\r\nHost: {host}\r\nCookie: {cookies}\r\nAccept-Encoding: gzip\r\n\r\n"
        )
        .unwrap();
        Stream(BufReader::new(socket))
    }

    /// The next count that is told; nothing when the stream ends.
    pub fn count(&mut self) -> Option<i64> {
        loop {
            let mut line = String::new();
            if self.0.read_line(&mut line).unwrap() == 0 {
                return None;
            }
            if let Some(count) = line.strip_prefix("data: ") {
                return count.trim().parse().ok();
            }
            if line.trim() == "0" {
                return None; // The last chunk.
            }
        }
    }
}

fn book(browser: &Browser, sink: i64, date: &str, from: &str, to: &str) {
    let sink = sink.to_string();
    let wish = [("sink", sink.as_str()), ("date", date), ("from", from), ("to", to)];
    browser.post("/bookings", &wish).is(303);
}

on_both!(the_count_of_a_day_goes_up_with_every_change_of_that_day_only, |house| {
    let id = sink(house);
    let member = house.person("Ilse", Role::Member);
    let day = |d: &str| house.app.zone().day(d.parse().unwrap());
    let at = |span: Span| house.app.db.read_now(|c| pulse::revision(c, span)).unwrap();
    let (own, other) = (day("2027-03-16"), day("2027-03-19"));
    let (before, quiet) = (at(own), at(other));
    book(&member, id, "2027-03-16", "18:00", "20:00");
    let booked = at(own);
    assert!(booked > before);
    member.post("/bookings/1/cancel", &[]).is(303);
    let cancelled = at(own);
    assert!(cancelled > booked);
    assert_eq!(at(other), quiet, "another day is left alone");
    let lead = house.person("Maren", Role::Lead);
    let hours = [("monday", "10:00-12:00")];
    lead.post("/room/hours", &hours).is(303);
    assert!(at(own) > cancelled && at(other) > quiet, "hours change every day");
});

on_both!(an_open_board_hears_of_a_change_made_on_another_server, |house| {
    let id = sink(house);
    let (member, watcher) =
        (house.person("Ilse", Role::Member), house.person("Corin", Role::Member));
    let second = house.second();
    let (app, url) = (&second.app, &second.url);

    let mut board = Stream::open(url, "/live/board?date=2027-03-16", &watcher.cookies());
    let first = board.count().unwrap();
    assert_eq!(app.watch.watching(), 1);
    book(&member, id, "2027-03-17", "18:00", "20:00");
    book(&member, id, "2027-03-16", "18:00", "20:00");
    let told = board.count().unwrap();
    assert!(told > first);
    member.post("/bookings/2/cancel", &[]).is(303);
    assert!(board.count().unwrap() > told);

    // Streams are the first to go when the server stops.
    app.watch.close();
    assert_eq!(board.count(), None);
    std::mem::drop(second.server.stop(true));
    second.thread.join().unwrap();
    assert_eq!(app.watch.watching(), 0);
});

on_both!(a_stream_is_for_those_who_may_see_the_board, |house| {
    house.browser().get("/live/board?date=2027-03-16").is(303);
    let member = house.person("Ilse", Role::Member);
    member.get("/live/board").is(422).says("write a date");
    member.get("/live/board?date=2027-03-16&days=99").is(422);
});

#[test]
fn a_server_has_only_so_many_places_for_watchers() {
    let house = House::open(Kind::Sqlite);
    let places: Vec<_> = (0..400).map(|_| house.app.watch.enter().unwrap()).collect();
    let member = house.person("Ilse", Role::Member);
    member.get("/live/board?date=2027-03-16").is(503);
    drop(places);
    let mut again = Stream::open(&house.url, "/live/board?date=2027-03-16", &member.cookies());
    assert!(again.count().is_some());
}

on_both!(a_board_kept_ready_is_never_stale_nor_somebody_elses, |house| {
    let id = sink(house);
    let (ilse, corin) = (house.person("Ilse", Role::Member), house.person("Corin", Role::Member));
    let board = |who: &Browser| who.get("/board?date=2027-03-16").is(200).body;
    book(&ilse, id, "2027-03-16", "18:00", "20:00");
    // The first look carries the word from the form, and is for once.
    assert!(board(&ilse).contains("class=\"flash good"));
    let (first, again) = (board(&ilse), board(&ilse));
    assert!(!first.contains("class=\"flash good"));
    assert_eq!(first, again, "the very same page, its once-keys included");
    assert!(first.contains("Yours") && !board(&corin).contains("Yours"));
    assert!(board(&corin).contains("Ilse"));
    ilse.post("/bookings/1/cancel", &[]).is(303);
    board(&ilse);
    assert!(!board(&ilse).contains("Yours") && !board(&corin).contains("Ilse"));
    // A minute later it is made afresh.
    let before = board(&corin);
    house.clock.advance(60);
    assert_ne!(board(&corin), before);
});

on_both!(a_day_read_for_somebody_else_is_as_it_is_now_whoever_changed_it, |house| {
    let id = sink(house);
    let (ilse, corin) = (house.person("Ilse", Role::Member), house.person("Corin", Role::Member));
    let second = house.second();
    let there = Browser::new(&second.url, Some(corin.cookies()));
    let board = |who: &Browser, date: &str| who.get(&format!("/board?date={date}")).is(200).body;
    let dates = ["2027-03-16", "2027-03-17"];
    for who in [&ilse, &corin, &there] {
        assert!(dates.iter().all(|date| !board(who, date).contains("18:00 to 20:00")));
    }
    // Every change is seen at the very next look, at either server, and only on its own day.
    for (n, date) in dates.iter().enumerate() {
        book(&ilse, id, date, "18:00", "20:00");
        assert!(board(&there, date).contains("Ilse") && board(&corin, date).contains("Ilse"));
        ilse.post(&format!("/bookings/{}/cancel", n + 1), &[]).is(303);
        assert!(!board(&there, date).contains("Ilse") && !board(&corin, date).contains("Ilse"));
    }
    let lead = house.person("Maren", Role::Lead);
    lead.post("/room/hours", &[("tuesday", "10:00-12:00")]).is(303);
    for who in [&there, &corin] {
        assert!(board(who, dates[0]).contains("open 10:00 to 12:00"));
        assert!(board(who, dates[1]).contains("closed on this day"));
    }
    std::mem::drop(second.server.stop(true));
});

on_both!(a_program_is_told_that_nothing_changed, |house| {
    let id = sink(house);
    let ilse = house.person("Ilse", Role::Member);
    let api = house.api(&ilse);
    let path = "/api/v1/board?date=2027-03-16";
    let tag = api.get(path).is(200).headers["etag"].clone();
    assert_eq!(api.get(path).is(200).headers["etag"], tag);
    api.get_if_changed(path, &tag).is(304);
    book(&ilse, id, "2027-03-16", "18:00", "20:00");
    let now = api.get_if_changed(path, &tag).is(200);
    assert_ne!(now.headers["etag"], tag);
    let other = house.person("Corin", Role::Member);
    house.api(&other).get_if_changed(path, &now.headers["etag"]).is(200);
});
