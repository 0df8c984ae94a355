# ngspice, the reference for circuits; the shipped appliances come from their files. ngspice itself is an
# ordinary library without sanitizers, which do not mind it.
find_library(NGSPICE ngspice REQUIRED)
target_sources(core_circuit.reference PRIVATE unit/core_circuit/support/spice.c unit/core_circuit/support/netlist.c)
target_include_directories(core_circuit.reference PRIVATE unit/core_circuit/support)
target_link_libraries(core_circuit.reference PRIVATE format_appliance_yaml ${NGSPICE})
