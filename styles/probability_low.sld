<?xml version="1.0" encoding="UTF-8"?>
<!-- SPDX-License-Identifier: Apache-2.0 -->
<!-- Probability that discharge is below a threshold. Pale (surely not) to dark brown (surely);
     lightness falls from class to class, so it prints in grey. -->
<sld:StyledLayerDescriptor version="1.1.0" xmlns:sld="http://www.opengis.net/sld"
    xmlns:se="http://www.opengis.net/se" xmlns:ogc="http://www.opengis.net/ogc">
  <sld:NamedLayer>
    <se:Name>probability_low</se:Name>
    <sld:UserStyle>
      <se:Description><se:Title>Probability of low discharge</se:Title></se:Description>
      <se:FeatureTypeStyle>
        <se:Rule>
          <se:RasterSymbolizer>
            <se:ColorMap>
              <se:Categorize fallbackValue="#ffffff">
                <se:LookupValue>Rasterdata</se:LookupValue>
                <se:Value>#f4f1ea</se:Value>
                <se:Threshold>0.05</se:Threshold>
                <se:Value>#e3d3b4</se:Value>
                <se:Threshold>0.20</se:Threshold>
                <se:Value>#cfac79</se:Value>
                <se:Threshold>0.50</se:Threshold>
                <se:Value>#b07d4c</se:Value>
                <se:Threshold>0.80</se:Threshold>
                <se:Value>#7f4f2c</se:Value>
                <se:Threshold>0.95</se:Threshold>
                <se:Value>#472a18</se:Value>
              </se:Categorize>
            </se:ColorMap>
          </se:RasterSymbolizer>
        </se:Rule>
      </se:FeatureTypeStyle>
    </sld:UserStyle>
  </sld:NamedLayer>
</sld:StyledLayerDescriptor>
