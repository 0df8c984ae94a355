target_link_libraries(core_plan.steps PRIVATE format_appliance_yaml) # shipped ovens
