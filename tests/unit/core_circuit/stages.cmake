target_link_libraries(core_circuit.stages PRIVATE format_appliance_yaml) # shipped ovens
