-- A bench record of version 3 as it was written then. Never edit: old records must load for ever.
PRAGMA application_id = 1111838275;
PRAGMA user_version = 3;
BEGIN TRANSACTION;
CREATE TABLE entry (id INTEGER PRIMARY KEY AUTOINCREMENT, at TEXT NOT NULL, offset_min INTEGER NOT NULL, knife TEXT NOT NULL, recipe_path TEXT NOT NULL, recipe_sha256 TEXT REFERENCES recipe, bar TEXT, step INTEGER, do TEXT, note TEXT NOT NULL, wrong TEXT NOT NULL, corrects INTEGER UNIQUE REFERENCES entry, written_by TEXT NOT NULL DEFAULT '', cure TEXT NOT NULL DEFAULT '', typed TEXT NOT NULL DEFAULT '', source TEXT NOT NULL DEFAULT '');
INSERT INTO "entry" VALUES(1,'2024-03-02T09:14:05.120+00:00',60,'Smokehouse slicer','slicer.toml','bca8e812950f3baf331f66f88b64b61dc8651e5b6bf9da5bdd7266d0fe962558','billet',1,'weld','edges cold, took a fourth heat','cold shut',NULL,'','','','');
INSERT INTO "entry" VALUES(2,'2024-03-02T16:40:00.000+00:00',60,'Smokehouse slicer','slicer.toml','bca8e812950f3baf331f66f88b64b61dc8651e5b6bf9da5bdd7266d0fe962558','billet',2,'draw','','',NULL,'','','','');
INSERT INTO "entry" VALUES(3,'2024-03-03T08:02:11.500+00:00',60,'Smokehouse slicer','slicer.toml','bca8e812950f3baf331f66f88b64b61dc8651e5b6bf9da5bdd7266d0fe962558','billet',2,'draw','read the rule from the wrong end','',2,'','','','');
INSERT INTO "entry" VALUES(4,'2024-07-21T19:30:00.000+00:00',120,'Harbour paring knife','',NULL,NULL,NULL,NULL,'warped in the quench','warp',NULL,'','','','');
INSERT INTO "entry" VALUES(5,'2025-01-11T10:00:00.000+00:00',60,'Harbour paring knife','',NULL,NULL,NULL,NULL,'second temper, same colour','',NULL,'M.','','','');
INSERT INTO "entry" VALUES(6,'2025-11-20T15:12:40.250+00:00',60,'Smokehouse slicer','slicer.toml','bca8e812950f3baf331f66f88b64b61dc8651e5b6bf9da5bdd7266d0fe962558','',7,'harden','','edges cold',NULL,'M.','two more minutes','quench oil 130 F wrong edges cold cure two more minutes','');
CREATE TABLE measure (entry INTEGER NOT NULL REFERENCES entry, position INTEGER NOT NULL, name TEXT NOT NULL, unit TEXT NOT NULL, value REAL, written TEXT NOT NULL, PRIMARY KEY (entry, name));
INSERT INTO "measure" VALUES(1,0,'heats','1',4.0,'4');
INSERT INTO "measure" VALUES(1,1,'mass','kg',1.412,'1412 g');
INSERT INTO "measure" VALUES(2,0,'thickness','m',0.0121,'12.1 mm');
INSERT INTO "measure" VALUES(3,0,'thickness','m',0.0131,'13.1 mm');
INSERT INTO "measure" VALUES(4,0,'hardness','',NULL,'file skates');
INSERT INTO "measure" VALUES(6,0,'oil','K',3.2759444444444443434e+02,'130 F');
INSERT INTO "measure" VALUES(6,1,'bow.50mm','m',-0.0015,'1.5 mm left');
CREATE TABLE photo (entry INTEGER NOT NULL REFERENCES entry, position INTEGER NOT NULL, path TEXT NOT NULL, sha256 TEXT NOT NULL, size INTEGER NOT NULL, PRIMARY KEY (entry, position));
INSERT INTO "photo" VALUES(4,0,'photos/paring.jpg','abababababababababababababababababababababababababababababababab',48211);
CREATE TABLE recipe (sha256 TEXT PRIMARY KEY, text TEXT NOT NULL);
INSERT INTO "recipe" VALUES('bca8e812950f3baf331f66f88b64b61dc8651e5b6bf9da5bdd7266d0fe962558','title = "Smokehouse slicer"

[[bar]]
name = "billet"
');
CREATE TRIGGER recipe_no_update BEFORE UPDATE ON recipe BEGIN SELECT RAISE(ABORT, 'notes are added, never rewritten'); END;
CREATE TRIGGER recipe_no_delete BEFORE DELETE ON recipe BEGIN SELECT RAISE(ABORT, 'notes are added, never rewritten'); END;
CREATE TRIGGER entry_no_update BEFORE UPDATE ON entry BEGIN SELECT RAISE(ABORT, 'notes are added, never rewritten'); END;
CREATE TRIGGER entry_no_delete BEFORE DELETE ON entry BEGIN SELECT RAISE(ABORT, 'notes are added, never rewritten'); END;
CREATE TRIGGER measure_no_update BEFORE UPDATE ON measure BEGIN SELECT RAISE(ABORT, 'notes are added, never rewritten'); END;
CREATE TRIGGER measure_no_delete BEFORE DELETE ON measure BEGIN SELECT RAISE(ABORT, 'notes are added, never rewritten'); END;
CREATE TRIGGER photo_no_update BEFORE UPDATE ON photo BEGIN SELECT RAISE(ABORT, 'notes are added, never rewritten'); END;
CREATE TRIGGER photo_no_delete BEFORE DELETE ON photo BEGIN SELECT RAISE(ABORT, 'notes are added, never rewritten'); END;
CREATE INDEX entry_of_knife ON entry (knife);
DELETE FROM "sqlite_sequence";
INSERT INTO "sqlite_sequence" VALUES('entry',6);
COMMIT;
