# ngspice, the reference; how an appliance is written down for it stands with the unit tests.
find_library(NGSPICE ngspice REQUIRED)
target_sources(bench.circuit PRIVATE ${PROJECT_SOURCE_DIR}/tests/unit/core_circuit/support/spice.c
  ${PROJECT_SOURCE_DIR}/tests/unit/core_circuit/support/netlist.c)
target_include_directories(bench.circuit PRIVATE ${PROJECT_SOURCE_DIR}/tests/unit/core_circuit/support)
target_link_libraries(bench.circuit PRIVATE test_support ${NGSPICE})
