target_sources(core_thermal.laws PRIVATE unit/core_thermal/support/baking.c)
target_include_directories(core_thermal.laws PRIVATE unit/core_thermal/support)
target_link_libraries(core_thermal.laws PRIVATE format_appliance_yaml core_run)
