# LAPACK, the reference for a normal density of many figures.
find_library(LAPACKE lapacke REQUIRED)
target_link_libraries(core_diagnosis.temperature PRIVATE test_support format_appliance_yaml core_diagnosis ${LAPACKE})
