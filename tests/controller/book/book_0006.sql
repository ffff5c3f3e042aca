-- A book as Dryside of revision 0006 wrote it; never to be edited.
BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0006');
CREATE TABLE bath (
	id INTEGER NOT NULL, 
	tray TEXT NOT NULL, 
	product TEXT NOT NULL, 
	kind TEXT NOT NULL, 
	dilution TEXT NOT NULL, 
	volume_ml DOUBLE NOT NULL, 
	fibre_m2_per_l DOUBLE, 
	resin_coated_m2_per_l DOUBLE, 
	in_tray_h DOUBLE, 
	full_bottle_h DOUBLE, 
	half_bottle_h DOUBLE, 
	place TEXT NOT NULL, 
	role TEXT NOT NULL, 
	promotions INTEGER NOT NULL, 
	set_since DATETIME, 
	made_at DATETIME NOT NULL, 
	discarded_at DATETIME, 
	CONSTRAINT pk_bath PRIMARY KEY (id)
);
INSERT INTO "bath" VALUES(1,'developer','paper developer','developer','1+9',1000.0,1.29032,2.58064,8.0,24.0,12.0,'tray','alone',0,NULL,'2024-03-01 20:15:00.000000',NULL);
CREATE TABLE bath_use (
	id INTEGER NOT NULL, 
	bath_id INTEGER NOT NULL, 
	what TEXT NOT NULL, 
	area_m2 DOUBLE NOT NULL, 
	base TEXT, 
	mark TEXT NOT NULL, 
	place TEXT, 
	tray TEXT NOT NULL, 
	at DATETIME NOT NULL, 
	CONSTRAINT pk_bath_use PRIMARY KEY (id), 
	CONSTRAINT fk_bath_use_bath_id FOREIGN KEY(bath_id) REFERENCES bath (id)
);
INSERT INTO "bath_use" VALUES(1,1,'sheet',0.0516,'fibre','K1',NULL,'developer','2024-03-01 20:15:00.000000');
CREATE TABLE calibration (
	id INTEGER NOT NULL, 
	output TEXT NOT NULL, 
	cold_lag_s DOUBLE NOT NULL, 
	warm_gain_s2 DOUBLE NOT NULL, 
	uncertainty_s DOUBLE, 
	how TEXT NOT NULL, 
	at DATETIME NOT NULL, 
	CONSTRAINT pk_calibration PRIMARY KEY (id)
);
CREATE TABLE counter (
	name TEXT NOT NULL, 
	value BIGINT NOT NULL, 
	CONSTRAINT pk_counter PRIMARY KEY (name)
);
INSERT INTO "counter" VALUES('mark',0);
CREATE TABLE dry_down (
	id INTEGER NOT NULL, 
	paper TEXT NOT NULL, 
	batch TEXT NOT NULL, 
	paper_key TEXT NOT NULL, 
	batch_key TEXT NOT NULL, 
	percent DOUBLE NOT NULL, 
	record_id TEXT, 
	how TEXT NOT NULL, 
	at DATETIME NOT NULL, 
	CONSTRAINT pk_dry_down PRIMARY KEY (id), 
	CONSTRAINT fk_dry_down_record_id FOREIGN KEY(record_id) REFERENCES record (record_id)
);
INSERT INTO "dry_down" VALUES(1,'warm fibre','','warm fibre','',8.0,NULL,'','2024-03-01 20:15:00.000000');
CREATE TABLE edition (
	id INTEGER NOT NULL, 
	name TEXT NOT NULL, 
	name_key TEXT NOT NULL, 
	negative TEXT NOT NULL, 
	copies INTEGER NOT NULL, 
	artist_proofs INTEGER NOT NULL, 
	remark TEXT NOT NULL, 
	at DATETIME NOT NULL, 
	CONSTRAINT pk_edition PRIMARY KEY (id), 
	CONSTRAINT uq_edition_name_key UNIQUE (name_key)
);
INSERT INTO "edition" VALUES(1,'Low tide','low tide','',3,1,'','2024-03-01 20:15:00.000000');
CREATE TABLE evidence (
	print_id INTEGER NOT NULL, 
	record_id TEXT NOT NULL, 
	CONSTRAINT pk_evidence PRIMARY KEY (print_id, record_id), 
	CONSTRAINT fk_evidence_print_id FOREIGN KEY(print_id) REFERENCES print (id), 
	CONSTRAINT fk_evidence_record_id FOREIGN KEY(record_id) REFERENCES record (record_id)
);
CREATE TABLE exposure (
	id INTEGER NOT NULL, 
	record_id TEXT NOT NULL, 
	number INTEGER NOT NULL, 
	mark TEXT, 
	label TEXT NOT NULL, 
	dose_s DOUBLE NOT NULL, 
	pulses_wanted INTEGER NOT NULL, 
	first_pulse BIGINT NOT NULL, 
	resumed BOOLEAN NOT NULL, 
	intended_at DATETIME NOT NULL, 
	delivered_dose_s DOUBLE, 
	"full" BOOLEAN, 
	low_s DOUBLE, 
	high_s DOUBLE, run INTEGER DEFAULT '1' NOT NULL, filter TEXT DEFAULT '' NOT NULL, 
	CONSTRAINT pk_exposure PRIMARY KEY (id), 
	CONSTRAINT uq_exposure_record_id_number UNIQUE (record_id, number), 
	CONSTRAINT fk_exposure_record_id FOREIGN KEY(record_id) REFERENCES record (record_id), 
	CONSTRAINT fk_exposure_record_id_mark FOREIGN KEY(record_id, mark) REFERENCES sheet (record_id, mark)
);
INSERT INTO "exposure" VALUES(1,'run-0',1,'M1','A',7.0,1,1,0,'2024-03-01 20:15:00.000000',7.0,1,NULL,NULL,1,'');
INSERT INTO "exposure" VALUES(2,'run-0',2,'M1','B',19.3,1,2,0,'2024-03-01 20:15:00.000000',19.3,1,NULL,NULL,1,'');
INSERT INTO "exposure" VALUES(3,'run-0',3,'M1','C',31.3,1,3,0,'2024-03-01 20:15:00.000000',31.3,1,NULL,NULL,1,'');
INSERT INTO "exposure" VALUES(4,'run-0',4,'M1','D',24.6,1,4,0,'2024-03-01 20:15:00.000000',24.6,1,NULL,NULL,1,'');
INSERT INTO "exposure" VALUES(5,'run-0',5,'M1','E',32.4,1,5,0,'2024-03-01 20:15:00.000000',32.4,1,NULL,NULL,1,'');
INSERT INTO "exposure" VALUES(6,'run-1',1,'M2','A',37.3,1,1,0,'2024-03-01 20:15:00.000000',37.3,1,NULL,NULL,1,'');
INSERT INTO "exposure" VALUES(7,'run-2',1,'M3','A',18.7,1,1,0,'2024-03-01 20:15:00.000000',18.7,1,NULL,NULL,1,'');
INSERT INTO "exposure" VALUES(8,'run-2',2,'M3','B',35.7,1,2,0,'2024-03-01 20:15:00.000000',35.7,1,NULL,NULL,1,'');
INSERT INTO "exposure" VALUES(9,'run-2',3,'M3','C',38.2,1,3,0,'2024-03-01 20:15:00.000000',19.0,0,NULL,NULL,1,'');
INSERT INTO "exposure" VALUES(10,'run-2',4,'M3','C',19.2,1,4,1,'2024-03-01 20:15:00.000000',19.2,1,NULL,NULL,1,'');
INSERT INTO "exposure" VALUES(11,'run-2',5,'M3','D',33.7,1,5,0,'2024-03-01 20:15:00.000000',NULL,NULL,0.0,33.7,1,'');
INSERT INTO "exposure" VALUES(12,'print-1',1,'K1','soft',10.0,1,1,0,'2024-03-01 20:15:00.000000',10.0,1,NULL,NULL,1,'00');
INSERT INTO "exposure" VALUES(13,'print-2',1,'K2','soft',10.0,1,1,0,'2024-03-01 20:15:00.000000',10.0,1,NULL,NULL,1,'00');
CREATE TABLE handwork (
	id INTEGER NOT NULL, 
	print_id INTEGER NOT NULL, 
	kind TEXT NOT NULL, 
	region TEXT NOT NULL, 
	stops DOUBLE NOT NULL, 
	CONSTRAINT pk_handwork PRIMARY KEY (id), 
	CONSTRAINT fk_handwork_print_id FOREIGN KEY(print_id) REFERENCES print (id)
);
INSERT INTO "handwork" VALUES(1,1,'burn','sky',1.33333333333333325931e+00);
INSERT INTO "handwork" VALUES(2,1,'dodge','door',1.0);
CREATE TABLE negative (
	id INTEGER NOT NULL, 
	name TEXT NOT NULL, 
	name_key TEXT NOT NULL, 
	film TEXT NOT NULL, 
	format TEXT NOT NULL, 
	exposed_on TEXT NOT NULL, 
	sleeve TEXT NOT NULL, 
	remark TEXT NOT NULL, 
	at DATETIME NOT NULL, 
	CONSTRAINT pk_negative PRIMARY KEY (id), 
	CONSTRAINT uq_negative_name_key UNIQUE (name_key)
);
INSERT INTO "negative" VALUES(1,'24-17/3','24-17/3','','','','','','2024-03-01 20:15:00.000000');
CREATE TABLE negative_tag (
	name_key TEXT NOT NULL, 
	tag TEXT NOT NULL, 
	CONSTRAINT pk_negative_tag PRIMARY KEY (name_key, tag)
);
CREATE TABLE paper_batch (
	id INTEGER NOT NULL, 
	name TEXT NOT NULL, 
	maker TEXT NOT NULL, 
	type TEXT NOT NULL, 
	surface TEXT NOT NULL, 
	base TEXT, 
	box TEXT NOT NULL, 
	opened TEXT NOT NULL, 
	developer TEXT NOT NULL, 
	time_s DOUBLE, 
	at DATETIME NOT NULL, 
	CONSTRAINT pk_paper_batch PRIMARY KEY (id)
);
INSERT INTO "paper_batch" VALUES(1,'pearl','','','',NULL,'12','','',NULL,'2024-03-01 20:15:00.000000');
CREATE TABLE paper_curve (
	id INTEGER NOT NULL, 
	batch_id INTEGER NOT NULL, 
	reading_id INTEGER NOT NULL, 
	filter TEXT NOT NULL, 
	developer TEXT NOT NULL, 
	time_s DOUBLE, 
	d_min DOUBLE NOT NULL, 
	d_max DOUBLE NOT NULL, 
	log_ht DOUBLE NOT NULL, 
	log_hm DOUBLE NOT NULL, 
	log_hs DOUBLE NOT NULL, 
	iso_range INTEGER NOT NULL, 
	iso_speed INTEGER, 
	residual_rms DOUBLE NOT NULL, 
	white_seen BOOLEAN NOT NULL, 
	black_seen BOOLEAN NOT NULL, 
	fitted TEXT NOT NULL, 
	at DATETIME NOT NULL, 
	CONSTRAINT pk_paper_curve PRIMARY KEY (id), 
	CONSTRAINT fk_paper_curve_batch_id FOREIGN KEY(batch_id) REFERENCES paper_batch (id), 
	CONSTRAINT fk_paper_curve_reading_id FOREIGN KEY(reading_id) REFERENCES paper_reading (id)
);
CREATE TABLE paper_reading (
	id INTEGER NOT NULL, 
	batch_id INTEGER NOT NULL, 
	filter TEXT NOT NULL, 
	developer TEXT NOT NULL, 
	time_s DOUBLE, 
	record_id TEXT NOT NULL, 
	mark TEXT NOT NULL, 
	how TEXT NOT NULL, 
	purpose TEXT NOT NULL, 
	lux DOUBLE, 
	points TEXT NOT NULL, 
	note TEXT NOT NULL, 
	at DATETIME NOT NULL, 
	CONSTRAINT pk_paper_reading PRIMARY KEY (id), 
	CONSTRAINT fk_paper_reading_batch_id FOREIGN KEY(batch_id) REFERENCES paper_batch (id)
);
CREATE TABLE pick (
	id INTEGER NOT NULL, 
	record_id TEXT, 
	subject TEXT NOT NULL, 
	choice TEXT NOT NULL, 
	dose_s DOUBLE NOT NULL, 
	stops DOUBLE NOT NULL, 
	judged TEXT NOT NULL, 
	filter TEXT NOT NULL, 
	at DATETIME NOT NULL, 
	CONSTRAINT pk_pick PRIMARY KEY (id), 
	CONSTRAINT fk_pick_record_id FOREIGN KEY(record_id) REFERENCES record (record_id)
);
INSERT INTO "pick" VALUES(1,'run-0','','C-D',10.0,0.5,'wet','','2024-03-01 20:15:00.000000');
CREATE TABLE picture (
	id INTEGER NOT NULL, 
	print_id INTEGER NOT NULL, 
	file TEXT NOT NULL, 
	note TEXT NOT NULL, 
	at DATETIME NOT NULL, 
	CONSTRAINT pk_picture PRIMARY KEY (id), 
	CONSTRAINT fk_picture_print_id FOREIGN KEY(print_id) REFERENCES print (id)
);
CREATE TABLE print (
	id INTEGER NOT NULL, 
	record_id TEXT NOT NULL, 
	mark TEXT NOT NULL, 
	made_at DATETIME NOT NULL, 
	gathered BOOLEAN NOT NULL, 
	title TEXT NOT NULL, 
	negative TEXT NOT NULL, 
	negative_key TEXT NOT NULL, 
	paper TEXT NOT NULL, 
	paper_key TEXT NOT NULL, 
	batch TEXT NOT NULL, 
	rating INTEGER, 
	remark TEXT NOT NULL, 
	went TEXT NOT NULL, 
	dry_note TEXT NOT NULL, 
	temperature_c DOUBLE, 
	room TEXT NOT NULL, 
	words TEXT NOT NULL, 
	CONSTRAINT pk_print PRIMARY KEY (id), 
	CONSTRAINT uq_print_record_id_mark UNIQUE (record_id, mark), 
	CONSTRAINT fk_print_record_id_mark FOREIGN KEY(record_id, mark) REFERENCES sheet (record_id, mark)
);
INSERT INTO "print" VALUES(1,'print-1','K1','2024-03-01 20:15:00.000000',1,'harbour','24-17/3','24-17/3','Warm Fibre','warm fibre','A7',4,'the cloud holds','','',NULL,'','harbour 24-17/3 warm fibre a7 the cloud holds k1');
CREATE TABLE pulled (
	edition_id INTEGER NOT NULL, 
	record_id TEXT NOT NULL, 
	CONSTRAINT pk_pulled PRIMARY KEY (edition_id, record_id), 
	CONSTRAINT fk_pulled_edition_id FOREIGN KEY(edition_id) REFERENCES edition (id), 
	CONSTRAINT fk_pulled_record_id FOREIGN KEY(record_id) REFERENCES record (record_id)
);
CREATE TABLE pulse (
	exposure_id INTEGER NOT NULL, 
	pulse_id BIGINT NOT NULL, 
	on_ns BIGINT NOT NULL, 
	off_ns BIGINT NOT NULL, 
	asked_ns BIGINT, 
	cause TEXT NOT NULL, 
	CONSTRAINT pk_pulse PRIMARY KEY (exposure_id, pulse_id), 
	CONSTRAINT fk_pulse_exposure_id FOREIGN KEY(exposure_id) REFERENCES exposure (id)
);
INSERT INTO "pulse" VALUES(1,1,1100000000000,1107100001234,7100000000,'deadline');
INSERT INTO "pulse" VALUES(2,2,1200000000000,1219400001234,19400000000,'deadline');
INSERT INTO "pulse" VALUES(3,3,1300000000000,1331400001234,31400000000,'deadline');
INSERT INTO "pulse" VALUES(4,4,1400000000000,1424700001234,24700000000,'deadline');
INSERT INTO "pulse" VALUES(5,5,1500000000000,1532500001234,32500000000,'deadline');
INSERT INTO "pulse" VALUES(6,1,1100000000000,1137400001234,37400000000,'deadline');
INSERT INTO "pulse" VALUES(7,1,1100000000000,1118800001234,18800000000,'deadline');
INSERT INTO "pulse" VALUES(8,2,1200000000000,1235800001234,35800000000,'deadline');
INSERT INTO "pulse" VALUES(9,3,1300000000000,1319100001234,19100000000,'cut');
INSERT INTO "pulse" VALUES(10,4,1400000000000,1419300001234,19300000000,'deadline');
CREATE TABLE record (
	id INTEGER NOT NULL, 
	record_id TEXT NOT NULL, 
	kind TEXT NOT NULL, 
	title TEXT NOT NULL, 
	lamp TEXT NOT NULL, 
	rig TEXT NOT NULL, 
	begun_at DATETIME NOT NULL, 
	ended_at DATETIME, 
	fate TEXT, 
	reason TEXT NOT NULL, 
	CONSTRAINT pk_record PRIMARY KEY (id), 
	CONSTRAINT uq_record_record_id UNIQUE (record_id)
);
INSERT INTO "record" VALUES(1,'run-0','strip','a strip','{"cold_lag_s":0.1,"warm_gain_s2":0.02}','rig.toml','2024-03-01 20:15:00.000000','2024-03-01 20:15:00.000000','done','');
INSERT INTO "record" VALUES(2,'run-1','strip','a strip','{"cold_lag_s":0.1,"warm_gain_s2":0.02}','rig.toml','2024-03-01 20:15:00.000000','2024-03-01 20:15:00.000000','done','');
INSERT INTO "record" VALUES(3,'run-2','strip','a strip','{"cold_lag_s":0.1,"warm_gain_s2":0.02}','rig.toml','2024-03-01 20:15:00.000000','2024-03-01 20:15:00.000000','abandoned','a sentence');
INSERT INTO "record" VALUES(4,'print-1','print','harbour','{"cold_lag_s":0.1,"warm_gain_s2":0.02}','rig.toml','2024-03-01 20:15:00.000000','2024-03-01 20:15:00.000000','done','');
INSERT INTO "record" VALUES(5,'print-2','print','harbour','{"cold_lag_s":0.1,"warm_gain_s2":0.02}','rig.toml','2024-03-01 20:15:00.000000','2024-03-01 20:15:00.000000','spoiled','');
CREATE TABLE remark (
	id INTEGER NOT NULL, 
	record_id TEXT NOT NULL, 
	mark TEXT, 
	label TEXT NOT NULL, 
	text TEXT NOT NULL, 
	at DATETIME NOT NULL, 
	CONSTRAINT pk_remark PRIMARY KEY (id), 
	CONSTRAINT fk_remark_record_id FOREIGN KEY(record_id) REFERENCES record (record_id)
);
INSERT INTO "remark" VALUES(1,'run-2','M3','B','unsure: the card moved late','2024-03-01 20:15:00.000000');
CREATE TABLE run (
	id INTEGER NOT NULL, 
	record_id TEXT NOT NULL, 
	number INTEGER NOT NULL, 
	kind TEXT NOT NULL, 
	mark TEXT, 
	"plan" TEXT NOT NULL, 
	spec TEXT NOT NULL, 
	begun_at DATETIME NOT NULL, 
	fate TEXT, 
	CONSTRAINT pk_run PRIMARY KEY (id), 
	CONSTRAINT uq_run_record_id_number UNIQUE (record_id, number), 
	CONSTRAINT fk_run_record_id FOREIGN KEY(record_id) REFERENCES record (record_id)
);
INSERT INTO "run" VALUES(1,'run-0',1,'first',NULL,'{}','{}','2024-03-01 20:15:00.000000','done');
INSERT INTO "run" VALUES(2,'run-1',1,'first',NULL,'{}','{}','2024-03-01 20:15:00.000000','done');
INSERT INTO "run" VALUES(3,'run-2',1,'first',NULL,'{}','{}','2024-03-01 20:15:00.000000','abandoned');
INSERT INTO "run" VALUES(4,'print-1',1,'first',NULL,'{"kind":"print","title":"harbour","actions":[{"type":"go","say":"soft","hands":null,"lead_in_s":1.5,"after_s":null}],"after":[],"version":1}','{
  "version": 1,
  "title": "harbour",
  "negative": "24-17/3",
  "base_s": 10.0,
  "paper": {
    "name": "Warm Fibre",
    "batch": "A7"
  },
  "setup": {
    "lens": "80 mm",
    "aperture": "8",
    "head_height_mm": 410.0
  },
  "sketch": [
    "ss",
    "dd"
  ],
  "regions": {
    "s": "Sky",
    "d": "door"
  },
  "passes": [
    {
      "label": "soft",
      "filter": "00"
    }
  ],
  "burns": [
    {
      "regions": [
        "Sky"
      ],
      "amount": "+1 1/3",
      "over": "soft"
    }
  ],
  "dodges": [
    {
      "regions": [
        "door"
      ],
      "amount": "5s",
      "within": "soft"
    }
  ],
  "process": {
    "developer": "1+9"
  },
  "came_from": [
    "K3 C-D"
  ]
}
','2024-03-01 20:15:00.000000','done');
INSERT INTO "run" VALUES(5,'print-2',1,'first',NULL,'{"kind":"print","title":"harbour","actions":[{"type":"go","say":"soft","hands":null,"lead_in_s":1.5,"after_s":null}],"after":[],"version":1}','{
  "version": 1,
  "title": "harbour",
  "negative": "24-17/3",
  "base_s": 10.0,
  "paper": {
    "name": "Warm Fibre",
    "batch": "A7"
  },
  "setup": {
    "lens": "80 mm",
    "aperture": "8",
    "head_height_mm": 410.0
  },
  "sketch": [
    "ss",
    "dd"
  ],
  "regions": {
    "s": "Sky",
    "d": "door"
  },
  "passes": [
    {
      "label": "soft",
      "filter": "00"
    }
  ],
  "burns": [
    {
      "regions": [
        "Sky"
      ],
      "amount": "+1 1/3",
      "over": "soft"
    }
  ],
  "dodges": [
    {
      "regions": [
        "door"
      ],
      "amount": "5s",
      "within": "soft"
    }
  ],
  "process": {
    "developer": "1+9"
  },
  "came_from": [
    "K3 C-D"
  ]
}
','2024-03-01 20:15:00.000000','spoiled');
CREATE TABLE sheet (
	id INTEGER NOT NULL, 
	record_id TEXT NOT NULL, 
	mark TEXT NOT NULL, 
	width_mm DOUBLE, 
	height_mm DOUBLE, 
	begun_at DATETIME NOT NULL, 
	ended_at DATETIME, 
	fate TEXT, 
	moved BOOLEAN, 
	CONSTRAINT pk_sheet PRIMARY KEY (id), 
	CONSTRAINT uq_sheet_record_id_mark UNIQUE (record_id, mark), 
	CONSTRAINT fk_sheet_record_id FOREIGN KEY(record_id) REFERENCES record (record_id)
);
INSERT INTO "sheet" VALUES(1,'run-0','M1',50.0,254.0,'2024-03-01 20:15:00.000000','2024-03-01 20:15:00.000000','done',NULL);
INSERT INTO "sheet" VALUES(2,'run-1','M2',50.0,254.0,'2024-03-01 20:15:00.000000','2024-03-01 20:15:00.000000','done',NULL);
INSERT INTO "sheet" VALUES(3,'run-2','M3',50.0,254.0,'2024-03-01 20:15:00.000000','2024-03-01 20:15:00.000000','abandoned',NULL);
INSERT INTO "sheet" VALUES(4,'print-1','K1',254.0,203.2,'2024-03-01 20:15:00.000000','2024-03-01 20:15:00.000000','done',NULL);
INSERT INTO "sheet" VALUES(5,'print-2','K2',254.0,203.2,'2024-03-01 20:15:00.000000','2024-03-01 20:15:00.000000','spoiled',NULL);
CREATE TABLE signed (
	id INTEGER NOT NULL, 
	edition_id INTEGER NOT NULL, 
	kind TEXT NOT NULL, 
	number INTEGER NOT NULL, 
	print_id INTEGER NOT NULL, 
	at DATETIME NOT NULL, 
	CONSTRAINT pk_signed PRIMARY KEY (id), 
	CONSTRAINT uq_signed_print_id UNIQUE (print_id), 
	CONSTRAINT uq_signed_edition_id_kind_number UNIQUE (edition_id, kind, number), 
	CONSTRAINT fk_signed_edition_id FOREIGN KEY(edition_id) REFERENCES edition (id), 
	CONSTRAINT fk_signed_print_id FOREIGN KEY(print_id) REFERENCES print (id)
);
INSERT INTO "signed" VALUES(1,1,'',2,1,'2024-03-01 20:15:00.000000');
CREATE TABLE stock (
	id INTEGER NOT NULL, 
	strips INTEGER NOT NULL, 
	reason TEXT NOT NULL, 
	record_id TEXT, 
	at DATETIME NOT NULL, 
	CONSTRAINT pk_stock PRIMARY KEY (id), 
	CONSTRAINT fk_stock_record_id FOREIGN KEY(record_id) REFERENCES record (record_id)
);
INSERT INTO "stock" VALUES(1,12,'sheet cut',NULL,'2024-03-01 20:15:00.000000');
CREATE TABLE tray_cleaned (
	id INTEGER NOT NULL, 
	tray TEXT NOT NULL, 
	tray_key TEXT NOT NULL, 
	at DATETIME NOT NULL, 
	CONSTRAINT pk_tray_cleaned PRIMARY KEY (id)
);
CREATE INDEX ix_record_kind_id ON record (kind, id);
CREATE INDEX ix_record_ended_at ON record (ended_at);
CREATE INDEX ix_sheet_mark_id ON sheet (mark, id);
CREATE INDEX ix_sheet_ended_at ON sheet (ended_at);
CREATE INDEX ix_exposure_first_pulse ON exposure (first_pulse);
CREATE INDEX ix_remark_record_id ON remark (record_id);
CREATE INDEX ix_pick_record_id ON pick (record_id);
CREATE INDEX ix_calibration_output_id ON calibration (output, id);
CREATE INDEX ix_dry_down_paper_key_id ON dry_down (paper_key, id);
CREATE INDEX ix_run_fate ON run (fate);
CREATE INDEX ix_bath_discarded_at ON bath (discarded_at);
CREATE INDEX ix_bath_use_bath_id_id ON bath_use (bath_id, id);
CREATE INDEX ix_tray_cleaned_tray_key ON tray_cleaned (tray_key);
CREATE INDEX ix_negative_tag_tag ON negative_tag (tag);
CREATE INDEX ix_print_gathered ON print (gathered);
CREATE INDEX ix_print_negative_key_id ON print (negative_key, id);
CREATE INDEX ix_print_paper_key_id ON print (paper_key, id);
CREATE INDEX ix_print_made_at ON print (made_at);
CREATE INDEX ix_handwork_print_id ON handwork (print_id);
CREATE INDEX ix_handwork_region_print_id ON handwork (region, print_id);
CREATE INDEX ix_picture_print_id ON picture (print_id);
CREATE INDEX ix_paper_reading_batch_id_id ON paper_reading (batch_id, id);
CREATE INDEX ix_paper_curve_batch_id_id ON paper_curve (batch_id, id);
COMMIT;
