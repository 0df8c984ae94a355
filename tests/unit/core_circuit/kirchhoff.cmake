# LAPACK, the reference for the nodal matrix; the shipped appliances come from their files.
find_library(LAPACKE lapacke REQUIRED)
target_link_libraries(core_circuit.kirchhoff PRIVATE format_appliance_yaml ${LAPACKE})
