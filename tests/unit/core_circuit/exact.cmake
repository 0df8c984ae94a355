target_sources(core_circuit.exact PRIVATE unit/core_circuit/support/made.c)
target_include_directories(core_circuit.exact PRIVATE unit/core_circuit/support)
