-- Tables of journal.sqlite, schema 3. Told in words in schemas/journal/README.md.
create table meta (name text primary key, value) without rowid;
create table doc (
    id blob primary key, crew blob not null, feature text not null, season integer not null, crop text not null,
    heads blob not null, digest blob not null, vector blob not null,
    version integer not null, snapshot integer not null, last integer not null, seen text not null default ''
) without rowid;
create table snapshot (doc blob primary key, bytes blob not null);
create table chunk (doc blob not null, n integer not null, bytes blob not null, primary key (doc, n)) without rowid;
create table actor (doc blob not null, person text not null, actor blob not null,
    primary key (doc, person)) without rowid;
create table observation (
    doc blob not null, key text not null, visit text not null, kind text not null,
    at integer not null, offset integer not null, by text not null, device blob not null,
    lon integer, lat integer, "values" text not null, void text, conflicts text not null,
    primary key (doc, key)
) without rowid;
create table visit (id text not null, doc blob not null, primary key (id, doc)) without rowid;
create table kind (name text not null, doc blob not null, primary key (name, doc)) without rowid;
create table conflict (doc blob not null, key text not null, measure text not null, body text not null,
    primary key (doc, key, measure)) without rowid;
create table field (id text primary key, body text not null) without rowid;
create table kv (name text primary key, value blob not null) without rowid;
