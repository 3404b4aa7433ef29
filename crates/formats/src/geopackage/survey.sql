-- The survey. Feature tables: clause 2.1.6; attributes: clause 2.4.
CREATE TABLE probes (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom POINT,
  point_id TEXT,
  outcome TEXT,
  depth_cm REAL,
  insertions INTEGER,
  not_reached INTEGER,
  lower_quartile_cm REAL,
  upper_quartile_cm REAL
);
CREATE TABLE insertions (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  geom POINT,
  record INTEGER,
  point_id TEXT,
  date DATE,
  time TEXT,
  outcome TEXT,
  depth_cm REAL,
  depth_unit TEXT,
  threshold_kpa REAL,
  moisture_pct REAL,
  accuracy_m REAL,
  cone_mm REAL,
  instrument TEXT,
  operator TEXT,
  "group" TEXT,
  note TEXT
);
CREATE TABLE profiles (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  insertion INTEGER,
  depth_cm REAL,
  cone_index_kpa REAL
);
CREATE TABLE findings (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  severity TEXT,
  subject TEXT,
  text TEXT
);
CREATE TABLE run_info (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  name TEXT,
  value TEXT
);
