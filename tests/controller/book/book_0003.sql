-- A book as Dryside of revision 0003 wrote it; never to be edited.
BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0003');
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
COMMIT;
