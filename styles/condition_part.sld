<?xml version="1.0" encoding="UTF-8"?>
<!-- SPDX-License-Identifier: Apache-2.0 -->
<!-- One part of the condition, over a clean emitter: sand (takes water away) to deep blue (adds);
     lightness falls from class to class, so it prints in grey. -->
<sld:StyledLayerDescriptor version="1.1.0" xmlns:sld="http://www.opengis.net/sld"
    xmlns:se="http://www.opengis.net/se" xmlns:ogc="http://www.opengis.net/ogc">
  <sld:NamedLayer>
    <se:Name>condition_part</se:Name>
    <sld:UserStyle>
      <se:Description><se:Title>Part of the condition</se:Title></se:Description>
      <se:FeatureTypeStyle>
        <se:Rule>
          <se:RasterSymbolizer>
            <se:ColorMap>
              <se:Categorize fallbackValue="#ffffff">
                <se:LookupValue>Rasterdata</se:LookupValue>
                <se:Value>#ffebb8</se:Value>
                <se:Threshold>-0.25</se:Threshold>
                <se:Value>#f3c587</se:Value>
                <se:Threshold>-0.10</se:Threshold>
                <se:Value>#d5a276</se:Value>
                <se:Threshold>-0.03</se:Threshold>
                <se:Value>#69949f</se:Value>
                <se:Threshold>0.03</se:Threshold>
                <se:Value>#2e6799</se:Value>
                <se:Threshold>0.10</se:Threshold>
                <se:Value>#203270</se:Value>
              </se:Categorize>
            </se:ColorMap>
          </se:RasterSymbolizer>
        </se:Rule>
      </se:FeatureTypeStyle>
    </sld:UserStyle>
  </sld:NamedLayer>
</sld:StyledLayerDescriptor>
