# Small appliances made of a few branches, shared with the circuit's tests.
target_sources(core_diagnosis.exact PRIVATE unit/core_circuit/support/made.c)
target_include_directories(core_diagnosis.exact PRIVATE unit/core_circuit/support)
