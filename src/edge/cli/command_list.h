/* command_list.h: every option and every command of the program, a row each.
 *
 * Lives here: names, sketches and one-line explanations, from which parser, help and prototypes are made. Not
 * here: what becomes of the rows (command.h), what a command does (command_<name>.c). */
#ifndef EDGE_CLI_COMMAND_LIST_H
#define EDGE_CLI_COMMAND_LIST_H

/* Option, as typed, sketch of what follows it, how many words follow, what it is for. Every option but a
 * flag may be given more than once where that makes sense; the handler decides. */
#define OPTION_LIST(X)                                                                                       \
    X(JSON, "--json", "", 0, "one JSON document instead of text")                                            \
    X(CLASS, "--class", "C", 1,                                                                              \
      "tolerance class of the sensor: AA, A, B, C for platinum, 1, 2, 3 for "                                \
      "thermocouples")                                                                                       \
    X(BETWEEN, "--between", "M1 M2", 2, "the marks where the probes are")                                    \
    X(MEASURE, "--measure", "ohm|volt|amp", 1, "what the meter is set to")                                   \
    X(FUNCTION, "--function", "F", 1, "setting of the oven's knob or keypad; off unless given")              \
    X(POWER, "--power", "on|off", 1, "is the supply on?")                                                    \
    X(LIFT, "--lift", "M", 1, "take the wire off this mark first; may be repeated")                          \
    X(UNPLUG, "--unplug", "C", 1, "open this connector first; may be repeated")                              \
    X(PLATE, "--plate", "KEY=VALUE", 1, "a figure from the rating plate, as bake=2500W; may be repeated")    \
    X(LOW_IMPEDANCE, "--low-impedance", "", 0, "the voltmeter loads the circuit, so ghost voltages vanish")  \
    X(AMBIENT, "--ambient", "T", 1, "temperature of the cold oven; 22C unless given")                        \
    X(READING, "--reading", "VALUE", 1, "what the meter shows there, leads zeroed, to be judged; OL too")    \
    X(ALL, "--all", "", 0, "all suspects, not only the leading ones")                                        \
    X(RUNGS, "--rungs", "", 0, "the rungs of the ladder as text instead of a drawing")                       \
    X(SET, "--set", "T", 1, "the temperature that the oven was set to; one for each log")                    \
    X(COLUMN, "--column", "NAME", 1, "the log's column of temperatures, by its heading or number")           \
    X(SENSOR, "--sensor", "NAME", 1, "its column of a thermometer at the oven's own sensor or bulb")         \
    X(UNIT, "--unit", "C|F", 1, "unit of a log that does not say")                                           \
    X(PROBE, "--probe", "KIND", 1, "the thermometer's sensor, as for `sense`")                               \
    X(METER, "--meter", "PCT%+C", 1, "accuracy of the thermometer's display: percent of reading + counts")   \
    X(APPLIANCE, "--appliance", "A", 1, "whose control is to be adjusted")                                   \
    X(OFFSET, "--offset", "T", 1, "the offset that the control has now; 0F unless given")                    \
    X(MINUTES, "--minutes", "N", 1, "how long the oven is simulated; 120 unless given")                      \
    X(FAULT, "--fault", "FAULT[=SEVERITY]", 1, "with this fault, as bake-element.weak=1.5; at most twice")   \
    X(SUPPLY, "--supply", "V", 1, "voltage of the supply, as 208V")                                          \
    X(OPEN, "--open", "FROM..UNTIL", 1, "the door stands open, as 40min..41min; may be repeated")            \
    X(TERMS, "--terms", "FILE", 1, "what the shop's minutes and mistakes cost, as data/shop/terms.yaml")     \
    X(IF, "--if", "ENTRY", 1, "as if this entry stood at the end of the call; may be repeated")              \
    X(STORE, "--store", "FILE", 1,                                                                           \
      "where calls are kept, a file or postgresql://HOST/NAME; else OVENWRIGHT_STORE, else the user's data " \
      "folder")                                                                                              \
    X(BY, "--by", "NAME", 1, "who puts it on record; else OVENWRIGHT_TECHNICIAN, else the user's name")      \
    X(AT, "--at", "N", 1, "as it stood after record N")                                                      \
    X(WHY, "--why", "TEXT", 1, "the reason, for those who read it later")                                    \
    X(VISITS, "--visits", "N", 1, "how many visits it took; 1 unless given")                                 \
    X(TECHNICIAN, "--technician", "NAME", 1, "who put something of it on record")                            \
    X(PART, "--part", "PART", 1, "a part that was repaired or replaced")                                     \
    X(CUSTOMER, "--customer", "TEXT", 1, "occurs in the customer's name, address or phone")                  \
    X(FROM, "--from", "DATE", 1, "last changed on that day or later, as 2026-11-26; days are those of UTC")  \
    X(UNTIL, "--until", "DATE", 1, "last changed on that day or earlier")                                    \
    X(NAME, "--name", "TEXT", 1, "the customer's name")                                                      \
    X(ADDRESS, "--address", "TEXT", 1, "where the oven is")                                                  \
    X(PHONE, "--phone", "TEXT", 1, "the customer's number")                                                  \
    X(ATTACH, "--attach", "FILE", 1, "keep this file with the entry: a photo, a log")                        \
    X(ERASE, "--erase", "", 0, "for good, on every device that this store meets")                            \
    X(ARCHIVE, "--archive", "", 0, "every record and what is attached, in one zip archive")                  \
    X(PORT, "--port", "N", 1, "8741 unless given; 0: any that is free")                                      \
    X(NETWORK, "--network", "", 0, "open to the network, not to this machine alone")                         \
    X(HOST, "--host", "NAME", 1, "a name or address by which devices reach it; may be repeated")             \
    X(CERTIFICATE, "--certificate", "FILE", 1, "PEM: with --key, everything is encrypted")                   \
    X(KEY, "--key", "FILE", 1, "PEM: the certificate's key")                                                 \
    X(CSV, "--csv", "", 0, "a table for a spreadsheet, RFC 4180")                                            \
    X(OUTPUT, "-o", "FILE", 1, "write to this file instead of standard output")

/* Handler, as typed, sketch of the arguments, least and most of them, options, what it does. */
#define COMMAND_LIST(X)                                                                                      \
    X(help, "help", "[COMMAND]", 0, 2, 0, "the commands, or one command with its options")                   \
    X(version, "--version", "", 0, 0, 0, "which version this is")                                            \
    X(sense, "sense", "KIND VALUE", 2, 2, OPTION(JSON) | OPTION(CLASS),                                      \
      "one sensor conversion: a temperature gives ohms or millivolts, and the other way round")              \
    X(appliance_list, "appliance list", "", 0, 0, OPTION(JSON), "the appliances that come with the program") \
    X(appliance_show, "appliance show", "A", 1, 1, OPTION(JSON) | OPTION(PLATE),                             \
      "one appliance in words: parts, marks, functions, places, figures, and the words for a call")          \
    X(appliance_check, "appliance check", "FILE", 1, 1, OPTION(JSON),                                        \
      "is a description whole, and does its wiring make sense?")                                             \
    X(expect, "expect", "A --between M1 M2", 1, 1,                                                           \
      OPTION(JSON) | OPTION(BETWEEN) | OPTION(MEASURE) | OPTION(FUNCTION) | OPTION(POWER) | OPTION(LIFT) |   \
          OPTION(UNPLUG) | OPTION(PLATE) | OPTION(LOW_IMPEDANCE) | OPTION(AMBIENT) | OPTION(READING),        \
      "what the meter should show between two marks, healthy and under each single fault")                   \
    X(draw, "draw", "A", 1, 1, OPTION(FUNCTION) | OPTION(PLATE) | OPTION(RUNGS) | OPTION(OUTPUT),            \
      "the wiring as a ladder drawing (SVG), with what is live in a function")                               \
    X(simulate, "simulate", "A --set T", 1, 1,                                                               \
      OPTION(SET) | OPTION(FUNCTION) | OPTION(MINUTES) | OPTION(FAULT) | OPTION(AMBIENT) | OPTION(SUPPLY) |  \
          OPTION(PLATE) | OPTION(OPEN) | OPTION(OUTPUT),                                                     \
      "how the oven warms, healthy or with faults, as a log: temperatures and watts every 10 seconds")       \
    X(run, "run", "FILE --set T", 1, COMMAND_MOST_ARGUMENTS,                                                 \
      OPTION(JSON) | OPTION(SET) | OPTION(COLUMN) | OPTION(SENSOR) | OPTION(UNIT) | OPTION(PROBE) |          \
          OPTION(CLASS) | OPTION(METER) | OPTION(APPLIANCE) | OPTION(PLATE) | OPTION(OFFSET) |               \
          OPTION(OUTPUT),                                                                                    \
      "what a temperature log says, and what offset to set; several logs, each with its --set")              \
    X(diagnose, "diagnose", "CALL.yaml", 1, 1, OPTION(JSON) | OPTION(ALL) | OPTION(TERMS) | OPTION(IF),      \
      "suspects, reasons, warnings and next steps of a call given as a file")                                \
    X(call_new, "call new", "CALL.yaml", 1, 1, OPTION(STORE) | OPTION(BY),                                   \
      "puts a call file on record, its temperature logs attached")                                           \
    X(call_list, "call list", "[WORD]...", 0, COMMAND_MOST_ARGUMENTS,                                        \
      OPTION(STORE) | OPTION(APPLIANCE) | OPTION(PART) | OPTION(FAULT) | OPTION(TECHNICIAN) |                \
          OPTION(CUSTOMER) | OPTION(FROM) | OPTION(UNTIL) | OPTION(ALL) | OPTION(JSON),                      \
      "open calls in which all the words occur, the latest first; with --all closed ones too")               \
    X(call_show, "call show", "C", 1, 1,                                                                     \
      OPTION(STORE) | OPTION(AT) | OPTION(JSON) | OPTION(ALL) | OPTION(TERMS) | OPTION(IF),                  \
      "what is on record, then suspects and next steps; C is the end of the call's identifier")              \
    X(call_add, "call add", "C ENTRY", 2, 2, OPTION(STORE) | OPTION(BY) | OPTION(ATTACH),                    \
      "one more entry, as it stands in a call file: '{look: bake-element, sees: dark}'")                     \
    X(call_attachment, "call attachment", "C N", 2, 2, OPTION(STORE) | OPTION(OUTPUT),                       \
      "what is attached to record N, byte for byte")                                                         \
    X(call_strike, "call strike", "C N --why TEXT", 2, 2, OPTION(STORE) | OPTION(BY) | OPTION(WHY),          \
      "record N counts no more; it stays in the trail")                                                      \
    X(call_close, "call close", "C", 1, 1,                                                                   \
      OPTION(STORE) | OPTION(BY) | OPTION(WHY) | OPTION(FAULT) | OPTION(MINUTES) | OPTION(VISITS) |          \
          OPTION(TERMS),                                                                                     \
      "the visit is over; --fault says what was confirmed, --minutes how long it took")                      \
    X(call_reopen, "call reopen", "C --why TEXT", 1, 1, OPTION(STORE) | OPTION(BY) | OPTION(WHY),            \
      "a callback, or closed too early")                                                                     \
    X(call_customer, "call customer", "C", 1, 1,                                                             \
      OPTION(STORE) | OPTION(NAME) | OPTION(ADDRESS) | OPTION(PHONE) | OPTION(ERASE),                        \
      "whose oven it is: shown, changed by the options, or erased; kept apart from the record")              \
    X(call_export, "call export", "C", 1, 1,                                                                 \
      OPTION(STORE) | OPTION(JSON) | OPTION(CSV) | OPTION(ARCHIVE) | OPTION(OUTPUT),                         \
      "the call as a call file; or every record as a line of JSON, a row, or with all that is attached")     \
    X(call_import, "call import", "FILE", 1, 1, OPTION(STORE),                                               \
      "what `call export` wrote with --json or --archive; what is there already is passed over")             \
    X(history, "history", "[A]", 0, 1, OPTION(STORE) | OPTION(TERMS) | OPTION(JSON),                         \
      "how calls went, whether what was said came true; of A: what to expect, and where that comes from")    \
    X(serve, "serve", "", 0, 0,                                                                              \
      OPTION(STORE) | OPTION(PORT) | OPTION(NETWORK) | OPTION(HOST) | OPTION(CERTIFICATE) | OPTION(KEY),     \
      "calls over HTTP, for a page or another program: doc/http.md; says a code for the first device")       \
    X(store_check, "store check", "", 0, 0, OPTION(STORE), "is everything there, and as it was written?")    \
    X(store_backup, "store backup", "FILE", 1, 1, OPTION(STORE), "a copy of the whole store as a new file")  \
    X(store_restore, "store restore", "FILE", 1, 1, OPTION(STORE),                                           \
      "takes what a backup has and this store has not; a new store where there is none")                     \
    X(store_migrate, "store migrate", "", 0, 0, OPTION(STORE),                                               \
      "makes a store, or brings an older one up to date")                                                    \
    X(store_export, "store export", "", 0, 0, OPTION(STORE) | OPTION(CSV) | OPTION(OUTPUT),                  \
      "every record of every call, as lines of JSON or as rows")                                             \
    X(store_sync, "store sync", "OTHER", 1, 1, OPTION(STORE), "both stores get what the other has")

#endif
