//! Stories of the duty rota and the studio's customs.

use wetside::clock::{Moment, Span};
use wetside::duty;
use wetside::sessions::Role;

on_both!(a_lead_is_put_on_the_rota_and_newcomers_can_count_on_them, |house| {
    let lead = house.person("Maren", Role::Lead);
    let member = house.person("Ilse", Role::Member);
    let id = lead.id.to_string();
    let on = |date, from, to, weeks| {
        [("lead", id.as_str()), ("date", date), ("from", from), ("to", to), ("weeks", weeks)]
    };
    lead.get("/duty").is(200).says("Nobody is on the rota");
    member.post("/duty", &on("2027-03-16", "17:00", "21:00", "1")).is(403);
    lead.post("/duty", &on("2027-03-16", "17:00", "21:00", "3")).is(303);
    member.get("/duty").is(200).says("Tuesday 16 March 2027, 17:00 to 21:00").says("Maren");
    member.get("/duty").is(200).says("Tuesday 30 March 2027, 17:00 to 21:00");
    lead.post("/duty", &on("2027-03-23", "20:00", "22:00", "1")).is(422).says("already");
    lead.post("/duty", &on("2027-03-14", "20:00", "22:00", "1")).is(422).says("is over");
    lead.post("/duty", &on("2027-03-28", "01:30", "04:00", "1")).is(422).says("skip that time");
    lead.post("/duty", &on("2027-03-16", "21:00", "17:00", "1"))
        .is(422)
        .says("after the beginning");
    let not_one = [("lead", "424242"), ("date", "2027-03-16"), ("from", "10:00"), ("to", "11:00")];
    lead.post("/duty", &[&not_one[..], &[("weeks", "1")]].concat()).is(422).says("Only a lead");

    // 16 March 2027, 18:00 to 20:00 in Dublin, which is UTC then.
    let evening = Span { from: Moment(1_805_220_000), to: Moment(1_805_227_200) };
    let late = Span { to: evening.to.plus(2 * 3600), ..evening };
    let cover = |span| house.app.db.read_now(|c| duty::leads_throughout(c, span)).unwrap();
    assert_eq!((cover(evening), cover(late)), (1, 0));

    lead.post("/duty/1/remove", &[]).is(303);
    lead.post("/duty/1/remove", &[]).is(404);
    assert_eq!(cover(evening), 0);
});

on_both!(customs_are_kept_within_their_bounds, |house| {
    let lead = house.person("Maren", Role::Lead);
    lead.get("/room/customs").is(200).says("1440");
    let to = |remind, version| {
        [
            ("remind_min", remind),
            ("offer_min", "45"),
            ("no_show_min", "20"),
            ("left_open_min", "30"),
            ("version", version),
        ]
    };
    lead.post("/room/customs", &to("100000", "1")).is(422).says("10080");
    lead.post("/room/customs", &to("720", "1")).is(303);
    lead.post("/room/customs", &to("60", "1")).is(409).says("changed while this form was open");
    lead.get("/room/customs").is(200).says("value=\"720\"").says("value=\"45\"");
});
