target_link_libraries(core_diagnosis.rules PRIVATE format_appliance_yaml) # a shipped oven
