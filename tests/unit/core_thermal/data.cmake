target_link_libraries(core_thermal.data PRIVATE format_appliance_yaml) # a shipped description to spoil
