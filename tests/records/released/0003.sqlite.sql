-- The records as the tables of migration 0003 hold them, with a few invented rows: what
-- sqlite3's `.dump` gives. Never changed: the records of that version must open for ever.
BEGIN TRANSACTION;
CREATE TABLE "auth_group" ("id" integer NOT NULL PRIMARY KEY AUTOINCREMENT, "name" varchar(150) NOT NULL UNIQUE);
CREATE TABLE "auth_group_permissions" ("id" integer NOT NULL PRIMARY KEY AUTOINCREMENT, "group_id" integer NOT NULL REFERENCES "auth_group" ("id") DEFERRABLE INITIALLY DEFERRED, "permission_id" integer NOT NULL REFERENCES "auth_permission" ("id") DEFERRABLE INITIALLY DEFERRED);
CREATE TABLE "auth_permission" ("id" integer NOT NULL PRIMARY KEY AUTOINCREMENT, "content_type_id" integer NOT NULL REFERENCES "django_content_type" ("id") DEFERRABLE INITIALLY DEFERRED, "codename" varchar(100) NOT NULL, "name" varchar(255) NOT NULL);
CREATE TABLE "django_content_type" ("id" integer NOT NULL PRIMARY KEY AUTOINCREMENT, "app_label" varchar(100) NOT NULL, "model" varchar(100) NOT NULL);
CREATE TABLE "django_migrations" ("id" integer NOT NULL PRIMARY KEY AUTOINCREMENT, "app" varchar(255) NOT NULL, "name" varchar(255) NOT NULL, "applied" datetime NOT NULL);
INSERT INTO "django_migrations" VALUES(1,'contenttypes','0001_initial','2026-11-28 21:06:15.381923');
INSERT INTO "django_migrations" VALUES(2,'contenttypes','0002_remove_content_type_name','2026-11-28 21:06:15.404169');
INSERT INTO "django_migrations" VALUES(3,'auth','0001_initial','2026-11-28 21:06:15.441918');
INSERT INTO "django_migrations" VALUES(4,'auth','0002_alter_permission_name_max_length','2026-11-28 21:06:15.458766');
INSERT INTO "django_migrations" VALUES(5,'auth','0003_alter_user_email_max_length','2026-11-28 21:06:15.473223');
INSERT INTO "django_migrations" VALUES(6,'auth','0004_alter_user_username_opts','2026-11-28 21:06:15.489198');
INSERT INTO "django_migrations" VALUES(7,'auth','0005_alter_user_last_login_null','2026-11-28 21:06:15.500800');
INSERT INTO "django_migrations" VALUES(8,'auth','0006_require_contenttypes_0002','2026-11-28 21:06:15.514478');
INSERT INTO "django_migrations" VALUES(9,'auth','0007_alter_validators_add_error_messages','2026-11-28 21:06:15.520808');
INSERT INTO "django_migrations" VALUES(10,'auth','0008_alter_user_username_max_length','2026-11-28 21:06:15.542688');
INSERT INTO "django_migrations" VALUES(11,'auth','0009_alter_user_last_name_max_length','2026-11-28 21:06:15.556815');
INSERT INTO "django_migrations" VALUES(12,'auth','0010_alter_group_name_max_length','2026-11-28 21:06:15.573695');
INSERT INTO "django_migrations" VALUES(13,'auth','0011_update_proxy_permissions','2026-11-28 21:06:15.589105');
INSERT INTO "django_migrations" VALUES(14,'auth','0012_alter_user_first_name_max_length','2026-11-28 21:06:15.596625');
INSERT INTO "django_migrations" VALUES(15,'records','0001_initial','2026-11-28 21:06:15.937159');
INSERT INTO "django_migrations" VALUES(16,'records','0002_append_only','2026-11-28 21:06:15.972072');
INSERT INTO "django_migrations" VALUES(17,'sessions','0001_initial','2026-11-28 21:06:15.978132');
INSERT INTO "django_migrations" VALUES(18,'records','0003_doors','2026-11-28 23:43:53.893822');
CREATE TABLE "django_session" ("session_key" varchar(40) NOT NULL PRIMARY KEY, "session_data" text NOT NULL, "expire_date" datetime NOT NULL);
CREATE TABLE "records_auditline" ("id" integer NOT NULL PRIMARY KEY AUTOINCREMENT, "at" datetime NOT NULL, "who_name" varchar(60) NOT NULL, "what" varchar(60) NOT NULL, "about" varchar(200) NOT NULL, "detail" text NOT NULL CHECK ((JSON_VALID("detail") OR "detail" IS NULL)), "address" varchar(64) NOT NULL, "who_id" bigint NULL REFERENCES "records_person" ("id") DEFERRABLE INITIALLY DEFERRED);
INSERT INTO "records_auditline" VALUES(1,'2026-03-01 07:30:00','Ann','machine added','Knot','{}','',1);
CREATE TABLE "records_caseline" ("id" integer NOT NULL PRIMARY KEY AUTOINCREMENT, "uid" char(32) NULL, "content" BLOB NOT NULL, "at" datetime NOT NULL, "who_name" varchar(60) NOT NULL, "who_id" bigint NULL REFERENCES "records_person" ("id") DEFERRABLE INITIALLY DEFERRED, "case_id" bigint NOT NULL REFERENCES "records_faultcase" ("id") DEFERRABLE INITIALLY DEFERRED, CONSTRAINT "one_case_line" UNIQUE ("case_id", "uid"));
CREATE TABLE "records_entry" ("id" integer NOT NULL PRIMARY KEY AUTOINCREMENT, "uid" char(32) NOT NULL UNIQUE, "kind" varchar(20) NOT NULL, "at" datetime NOT NULL, "received_at" datetime NOT NULL, "clock_ahead_s" real NULL, "who_name" varchar(60) NOT NULL, "values" text NOT NULL CHECK ((JSON_VALID("values") OR "values" IS NULL)), "note" text NOT NULL, "source" varchar(20) NOT NULL, "corrects_id" bigint NULL REFERENCES "records_entry" ("id") DEFERRABLE INITIALLY DEFERRED, "who_id" bigint NULL REFERENCES "records_person" ("id") DEFERRABLE INITIALLY DEFERRED, "machine_id" bigint NOT NULL REFERENCES "records_machine" ("id") DEFERRABLE INITIALLY DEFERRED, "version_id" bigint NULL REFERENCES "records_machineversion" ("id") DEFERRABLE INITIALLY DEFERRED);
INSERT INTO "records_entry" VALUES(1,'00000000000000000000000000000002','hours','2026-03-01 07:30:00','2026-03-01 07:30:00',NULL,'Ann','{"hours_s": 3600.0}','','web',NULL,1,1,1);
INSERT INTO "records_entry" VALUES(2,'00000000000000000000000000000003','hours','2026-03-01 07:30:00','2026-03-01 07:30:00',NULL,'Ann','{"hours_s": 7200.0}','misread','web',1,1,1,1);
INSERT INTO "records_entry" VALUES(3,'00000000000000000000000000000004','daily check','2026-03-01 07:30:00','2026-03-01 07:30:00',12.5,'Bo','{"tripped": true, "reset": true}','','web',NULL,NULL,1,1);
CREATE TABLE "records_faultcase" ("id" integer NOT NULL PRIMARY KEY AUTOINCREMENT, "uid" char(32) NOT NULL UNIQUE, "begun_at" datetime NOT NULL, "begun_by_name" varchar(60) NOT NULL, "complaint" varchar(60) NOT NULL, "status" varchar(20) NOT NULL, "machine_id" bigint NOT NULL REFERENCES "records_machine" ("id") DEFERRABLE INITIALLY DEFERRED, "version_id" bigint NOT NULL REFERENCES "records_machineversion" ("id") DEFERRABLE INITIALLY DEFERRED);
CREATE TABLE "records_invitation" ("id" integer NOT NULL PRIMARY KEY AUTOINCREMENT, "token_hash" varchar(64) NOT NULL UNIQUE, "role" smallint unsigned NOT NULL CHECK ("role" >= 0), "made_by_name" varchar(60) NOT NULL, "made_at" datetime NOT NULL, "expires_at" datetime NOT NULL, "used_at" datetime NULL, "person_id" bigint NULL REFERENCES "records_person" ("id") DEFERRABLE INITIALLY DEFERRED);
CREATE TABLE "records_limitedact" ("id" integer NOT NULL PRIMARY KEY AUTOINCREMENT, "what" varchar(40) NOT NULL, "by" varchar(70) NOT NULL, "at" datetime NOT NULL);
CREATE TABLE "records_machine" ("id" integer NOT NULL PRIMARY KEY AUTOINCREMENT, "uid" char(32) NOT NULL UNIQUE, "name" varchar(100) NOT NULL UNIQUE, "created_at" datetime NOT NULL, "put_away_at" datetime NULL);
INSERT INTO "records_machine" VALUES(1,'00000000000000000000000000000001','Knot','2026-03-01 07:30:00',NULL);
CREATE TABLE "records_machineversion" ("id" integer NOT NULL PRIMARY KEY AUTOINCREMENT, "number" integer unsigned NOT NULL CHECK ("number" >= 0), "file_name" varchar(100) NOT NULL, "text" text NOT NULL, "copy" text NOT NULL CHECK ((JSON_VALID("copy") OR "copy" IS NULL)), "digest" varchar(64) NOT NULL, "note" varchar(500) NOT NULL, "added_at" datetime NOT NULL, "added_by_name" varchar(60) NOT NULL, "added_by_id" bigint NULL REFERENCES "records_person" ("id") DEFERRABLE INITIALLY DEFERRED, "machine_id" bigint NOT NULL REFERENCES "records_machine" ("id") DEFERRABLE INITIALLY DEFERRED, CONSTRAINT "one_machine_version" UNIQUE ("machine_id", "number"));
INSERT INTO "records_machineversion" VALUES(1,1,'knot.toml','[machine]
name = "Knot"
[feed]
knives = 8
cutterhead_speed = "1000 rpm +- 2 %"
cut_lengths = ["5 mm", "10 mm"]
roll_diameter = "160 mm"
sensor_to_shear_bar = "260 mm"
[detector]
threshold = "1.5 V"
low_cut = "6 Hz"
high_cut = "160 Hz"
[[sensor.assemblies]]
centre = ["0 mm", "0 mm", "50 mm"]
magnet = { size = ["240 mm", "24 mm", "25 mm"], remanence = "0.38 T", direction = [0, 0, 1] }
[chain.hold_winding]
resistance = "18 ohm"
suppression = { kind = "diode", voltage = "0.8 V" }
[[chain.pawls]]
name = "lower"
clearance = "3.5 mm"
[[chain.pawls]]
name = "upper"
clearance = "3.5 mm"
','{"format": 1, "file": "knot.toml", "name": "Knot", "sheets": [{"name": "knot.toml", "text": "[machine]\nname = \"Knot\"\n[feed]\nknives = 8\ncutterhead_speed = \"1000 rpm +- 2 %\"\ncut_lengths = [\"5 mm\", \"10 mm\"]\nroll_diameter = \"160 mm\"\nsensor_to_shear_bar = \"260 mm\"\n[detector]\nthreshold = \"1.5 V\"\nlow_cut = \"6 Hz\"\nhigh_cut = \"160 Hz\"\n[[sensor.assemblies]]\ncentre = [\"0 mm\", \"0 mm\", \"50 mm\"]\nmagnet = { size = [\"240 mm\", \"24 mm\", \"25 mm\"], remanence = \"0.38 T\", direction = [0, 0, 1] }\n[chain.hold_winding]\nresistance = \"18 ohm\"\nsuppression = { kind = \"diode\", voltage = \"0.8 V\" }\n[[chain.pawls]]\nname = \"lower\"\nclearance = \"3.5 mm\"\n[[chain.pawls]]\nname = \"upper\"\nclearance = \"3.5 mm\"\n"}], "digest": "ed31b2482a282704eefb8d0733b98c8a4ac589896ab6793679e48f9d61b8853e"}','ed31b2482a282704eefb8d0733b98c8a4ac589896ab6793679e48f9d61b8853e','','2026-03-01 07:30:00','Ann',1,1);
CREATE TABLE "records_person" ("id" integer NOT NULL PRIMARY KEY AUTOINCREMENT, "password" varchar(128) NOT NULL, "last_login" datetime NULL, "name" varchar(60) NOT NULL UNIQUE, "role" smallint unsigned NOT NULL CHECK ("role" >= 0), "is_active" bool NOT NULL, "us_units" bool NOT NULL, "created_at" datetime NOT NULL, "sessions_ended" integer unsigned NOT NULL CHECK ("sessions_ended" >= 0));
INSERT INTO "records_person" VALUES(1,'pbkdf2_sha256$1000000$6ne3ZTp3Wk0KLNJIuC7qbs$+Cn4g9VWotI5AsMsxoBP79xzxXg2MHlGBffs0WYmThA=',NULL,'Ann',4,1,0,'2026-03-01 07:30:00',0);
CREATE TABLE "records_photo" ("id" integer NOT NULL PRIMARY KEY AUTOINCREMENT, "uid" char(32) NOT NULL UNIQUE, "content_type" varchar(20) NOT NULL, "width" integer unsigned NOT NULL CHECK ("width" >= 0), "height" integer unsigned NOT NULL CHECK ("height" >= 0), "size" integer unsigned NOT NULL CHECK ("size" >= 0), "digest" varchar(64) NOT NULL, "content" BLOB NOT NULL, "small" BLOB NOT NULL, "added_at" datetime NOT NULL, "entry_id" bigint NOT NULL REFERENCES "records_entry" ("id") DEFERRABLE INITIALLY DEFERRED, CONSTRAINT "one_photo_of_an_entry" UNIQUE ("entry_id", "digest"));
CREATE TABLE "records_signinattempt" ("id" integer NOT NULL PRIMARY KEY AUTOINCREMENT, "name" varchar(60) NOT NULL, "address" varchar(64) NOT NULL, "at" datetime NOT NULL);
CREATE TABLE "records_standing" ("id" integer NOT NULL PRIMARY KEY AUTOINCREMENT, "facts" text NOT NULL CHECK ((JSON_VALID("facts") OR "facts" IS NULL)), "worked_out_at" datetime NOT NULL, "machine_id" bigint NOT NULL UNIQUE REFERENCES "records_machine" ("id") DEFERRABLE INITIALLY DEFERRED, "version_id" bigint NULL REFERENCES "records_machineversion" ("id") DEFERRABLE INITIALLY DEFERRED);
INSERT INTO "records_standing" VALUES(1,'{}','2026-03-01 07:30:00',1,1);
CREATE TABLE "records_typesheet" ("id" integer NOT NULL PRIMARY KEY AUTOINCREMENT, "name" varchar(100) NOT NULL UNIQUE);
CREATE TABLE "records_typesheetversion" ("id" integer NOT NULL PRIMARY KEY AUTOINCREMENT, "number" integer unsigned NOT NULL CHECK ("number" >= 0), "text" text NOT NULL, "digest" varchar(64) NOT NULL, "added_at" datetime NOT NULL, "added_by_name" varchar(60) NOT NULL, "sheet_id" bigint NOT NULL REFERENCES "records_typesheet" ("id") DEFERRABLE INITIALLY DEFERRED, CONSTRAINT "one_sheet_version" UNIQUE ("sheet_id", "number"));
CREATE TABLE "records_versionproof" ("id" integer NOT NULL PRIMARY KEY AUTOINCREMENT, "verdict" varchar(20) NOT NULL, "summary" text NOT NULL CHECK ((JSON_VALID("summary") OR "summary" IS NULL)), "program" varchar(40) NOT NULL, "proved_at" datetime NOT NULL, "version_id" bigint NOT NULL UNIQUE REFERENCES "records_machineversion" ("id") DEFERRABLE INITIALLY DEFERRED);
CREATE UNIQUE INDEX "django_content_type_app_label_model_76bd3d3b_uniq" ON "django_content_type" ("app_label", "model");
CREATE UNIQUE INDEX "auth_group_permissions_group_id_permission_id_0cd325b0_uniq" ON "auth_group_permissions" ("group_id", "permission_id");
CREATE INDEX "auth_group_permissions_group_id_b120cbf9" ON "auth_group_permissions" ("group_id");
CREATE INDEX "auth_group_permissions_permission_id_84c5c92e" ON "auth_group_permissions" ("permission_id");
CREATE UNIQUE INDEX "auth_permission_content_type_id_codename_01ab375a_uniq" ON "auth_permission" ("content_type_id", "codename");
CREATE INDEX "auth_permission_content_type_id_2f476e4b" ON "auth_permission" ("content_type_id");
CREATE INDEX "records_auditline_at_2b2c2c35" ON "records_auditline" ("at");
CREATE INDEX "records_auditline_who_id_7b221440" ON "records_auditline" ("who_id");
CREATE INDEX "records_invitation_person_id_4ffab7ac" ON "records_invitation" ("person_id");
CREATE INDEX "records_faultcase_machine_id_2a4532ff" ON "records_faultcase" ("machine_id");
CREATE INDEX "records_faultcase_version_id_455c0e86" ON "records_faultcase" ("version_id");
CREATE INDEX "records_entry_corrects_id_87904cf0" ON "records_entry" ("corrects_id");
CREATE INDEX "records_entry_who_id_a4c65d03" ON "records_entry" ("who_id");
CREATE INDEX "records_entry_machine_id_bd826801" ON "records_entry" ("machine_id");
CREATE INDEX "records_entry_version_id_bcedf085" ON "records_entry" ("version_id");
CREATE INDEX "records_sig_name_ed76b5_idx" ON "records_signinattempt" ("name", "at");
CREATE INDEX "records_sig_address_caf5a0_idx" ON "records_signinattempt" ("address", "at");
CREATE INDEX "records_standing_version_id_d81ece56" ON "records_standing" ("version_id");
CREATE INDEX "records_caseline_who_id_e5641167" ON "records_caseline" ("who_id");
CREATE INDEX "records_caseline_case_id_2ac9084c" ON "records_caseline" ("case_id");
CREATE INDEX "records_machineversion_added_by_id_c9875461" ON "records_machineversion" ("added_by_id");
CREATE INDEX "records_machineversion_machine_id_11aa6dd7" ON "records_machineversion" ("machine_id");
CREATE INDEX "case_of_machine" ON "records_faultcase" ("machine_id", "begun_at" DESC);
CREATE INDEX "entry_of_machine" ON "records_entry" ("machine_id", "at" DESC, "id" DESC);
CREATE INDEX "entry_of_kind" ON "records_entry" ("machine_id", "kind", "at" DESC, "id" DESC);
CREATE INDEX "entry_newest" ON "records_entry" ("at" DESC, "id" DESC);
CREATE INDEX "records_photo_entry_id_fdd06a77" ON "records_photo" ("entry_id");
CREATE INDEX "records_typesheetversion_sheet_id_0009ce86" ON "records_typesheetversion" ("sheet_id");
CREATE TRIGGER records_entry_no_update BEFORE UPDATE ON records_entry BEGIN SELECT RAISE(ABORT, 'rows of records_entry are only ever added'); END;
CREATE TRIGGER records_entry_no_delete BEFORE DELETE ON records_entry BEGIN SELECT RAISE(ABORT, 'rows of records_entry are only ever added'); END;
CREATE TRIGGER records_photo_no_update BEFORE UPDATE ON records_photo BEGIN SELECT RAISE(ABORT, 'rows of records_photo are only ever added'); END;
CREATE TRIGGER records_photo_no_delete BEFORE DELETE ON records_photo BEGIN SELECT RAISE(ABORT, 'rows of records_photo are only ever added'); END;
CREATE TRIGGER records_caseline_no_update BEFORE UPDATE ON records_caseline BEGIN SELECT RAISE(ABORT, 'rows of records_caseline are only ever added'); END;
CREATE TRIGGER records_caseline_no_delete BEFORE DELETE ON records_caseline BEGIN SELECT RAISE(ABORT, 'rows of records_caseline are only ever added'); END;
CREATE TRIGGER records_auditline_no_update BEFORE UPDATE ON records_auditline BEGIN SELECT RAISE(ABORT, 'rows of records_auditline are only ever added'); END;
CREATE TRIGGER records_auditline_no_delete BEFORE DELETE ON records_auditline BEGIN SELECT RAISE(ABORT, 'rows of records_auditline are only ever added'); END;
CREATE TRIGGER records_machineversion_no_update BEFORE UPDATE ON records_machineversion BEGIN SELECT RAISE(ABORT, 'rows of records_machineversion are only ever added'); END;
CREATE TRIGGER records_machineversion_no_delete BEFORE DELETE ON records_machineversion BEGIN SELECT RAISE(ABORT, 'rows of records_machineversion are only ever added'); END;
CREATE TRIGGER records_typesheetversion_no_update BEFORE UPDATE ON records_typesheetversion BEGIN SELECT RAISE(ABORT, 'rows of records_typesheetversion are only ever added'); END;
CREATE TRIGGER records_typesheetversion_no_delete BEFORE DELETE ON records_typesheetversion BEGIN SELECT RAISE(ABORT, 'rows of records_typesheetversion are only ever added'); END;
CREATE INDEX "django_session_expire_date_a5c62663" ON "django_session" ("expire_date");
CREATE UNIQUE INDEX "one_person_a_name" ON "records_person" ((LOWER("name")));
CREATE INDEX "limited_act" ON "records_limitedact" ("what", "by", "at");
DELETE FROM "sqlite_sequence";
INSERT INTO "sqlite_sequence" VALUES('django_migrations',18);
INSERT INTO "sqlite_sequence" VALUES('django_content_type',0);
INSERT INTO "sqlite_sequence" VALUES('auth_permission',0);
INSERT INTO "sqlite_sequence" VALUES('auth_group',0);
INSERT INTO "sqlite_sequence" VALUES('records_machineversion',1);
INSERT INTO "sqlite_sequence" VALUES('records_photo',0);
INSERT INTO "sqlite_sequence" VALUES('records_typesheetversion',0);
INSERT INTO "sqlite_sequence" VALUES('records_machine',1);
INSERT INTO "sqlite_sequence" VALUES('records_entry',3);
INSERT INTO "sqlite_sequence" VALUES('records_auditline',1);
INSERT INTO "sqlite_sequence" VALUES('records_standing',1);
INSERT INTO "sqlite_sequence" VALUES('records_person',1);
COMMIT;
