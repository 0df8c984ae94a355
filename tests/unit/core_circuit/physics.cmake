target_sources(core_circuit.physics PRIVATE unit/core_circuit/support/made.c)
target_include_directories(core_circuit.physics PRIVATE unit/core_circuit/support)
target_link_libraries(core_circuit.physics PRIVATE format_appliance_yaml) # the tests read shipped files
