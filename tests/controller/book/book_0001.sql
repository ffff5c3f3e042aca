-- The first book that there was: written by revision 0001, and never to be edited.
BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0001');
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
INSERT INTO "calibration" VALUES(1,'lamp',0.11,0.02,0.005,'lag strip','2024-03-01 20:15:00.000000');
CREATE TABLE counter (
	name TEXT NOT NULL, 
	value BIGINT NOT NULL, 
	CONSTRAINT pk_counter PRIMARY KEY (name)
);
INSERT INTO "counter" VALUES('mark',70);
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
	high_s DOUBLE, 
	CONSTRAINT pk_exposure PRIMARY KEY (id), 
	CONSTRAINT uq_exposure_record_id_number UNIQUE (record_id, number), 
	CONSTRAINT fk_exposure_record_id FOREIGN KEY(record_id) REFERENCES record (record_id), 
	CONSTRAINT fk_exposure_record_id_mark FOREIGN KEY(record_id, mark) REFERENCES sheet (record_id, mark)
);
INSERT INTO "exposure" VALUES(1,'0190-first',1,'K7','A',8.0,1,1709324100000,0,'2024-03-01 20:15:00.000000',8.0,1,NULL,NULL);
INSERT INTO "exposure" VALUES(2,'0190-first',2,'K7','B',10.079,1,1709324100001,0,'2024-03-01 20:15:00.000000',NULL,NULL,NULL,NULL);
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
INSERT INTO "pick" VALUES(1,'0190-first','','A',8.0,0.0,'wet','2','2024-03-01 20:15:00.000000');
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
INSERT INTO "pulse" VALUES(1,1709324100000,5000000000,13110000000,8110000000,'deadline');
CREATE TABLE record (
	id INTEGER NOT NULL, 
	record_id TEXT NOT NULL, 
	kind TEXT NOT NULL, 
	title TEXT NOT NULL, 
	spec TEXT NOT NULL, 
	"plan" TEXT NOT NULL, 
	lamp TEXT NOT NULL, 
	rig TEXT NOT NULL, 
	begun_at DATETIME NOT NULL, 
	ended_at DATETIME, 
	fate TEXT, 
	reason TEXT NOT NULL, 
	CONSTRAINT pk_record PRIMARY KEY (id), 
	CONSTRAINT uq_record_record_id UNIQUE (record_id)
);
INSERT INTO "record" VALUES(1,'0190-first','strip','a strip from 8 s','{"base_s":8}','{"kind":"strip"}','{"cold_lag_s":0.11,"warm_gain_s2":0.02}','rig.toml','2024-03-01 20:15:00.000000',NULL,NULL,'');
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
INSERT INTO "remark" VALUES(1,'0190-first','K7','A','unsure: the card moved late','2024-03-01 20:15:00.000000');
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
INSERT INTO "sheet" VALUES(1,'0190-first','K7',50.8,254.0,'2024-03-01 20:15:00.000000',NULL,NULL,NULL);
CREATE TABLE stock (
	id INTEGER NOT NULL, 
	strips INTEGER NOT NULL, 
	reason TEXT NOT NULL, 
	record_id TEXT, 
	at DATETIME NOT NULL, 
	CONSTRAINT pk_stock PRIMARY KEY (id), 
	CONSTRAINT fk_stock_record_id FOREIGN KEY(record_id) REFERENCES record (record_id)
);
INSERT INTO "stock" VALUES(1,10,'sheet cut',NULL,'2024-03-01 20:15:00.000000');
INSERT INTO "stock" VALUES(2,-1,'used','0190-first','2024-03-01 20:15:00.000000');
CREATE INDEX ix_record_kind_id ON record (kind, id);
CREATE INDEX ix_record_ended_at ON record (ended_at);
CREATE INDEX ix_sheet_mark_id ON sheet (mark, id);
CREATE INDEX ix_sheet_ended_at ON sheet (ended_at);
CREATE INDEX ix_exposure_first_pulse ON exposure (first_pulse);
CREATE INDEX ix_remark_record_id ON remark (record_id);
CREATE INDEX ix_pick_record_id ON pick (record_id);
CREATE INDEX ix_calibration_output_id ON calibration (output, id);
COMMIT;
