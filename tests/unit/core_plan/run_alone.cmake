target_sources(core_plan.run_alone PRIVATE unit/core_plan/support/apart.c)
target_include_directories(core_plan.run_alone PRIVATE unit/core_plan/support)
target_link_libraries(core_plan.run_alone PRIVATE test_support format_appliance_yaml)
